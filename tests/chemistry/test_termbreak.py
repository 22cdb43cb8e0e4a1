"""Breaks between terms: written by instructors and admins, read by all, taken back and never deleted."""

import pytest

from chemistry.models import TermBreak

AUTUMN = {"name": "Autumn break", "first_day": "2026-10-05", "last_day": "2026-10-17"}


def written(client, **more):
    answer = client.post("term-breaks", {**AUTUMN, **more})
    assert answer.status_code == 201, answer.json()
    return answer


@pytest.mark.parametrize("who", ["cy", "di"])
def test_who_plans_the_year_writes_a_break_and_everybody_reads_it(client_for, request, ada, who):
    where = written(client_for(request.getfixturevalue(who)))["Location"]
    row = client_for(ada).get(where).json()
    assert {name: row[name] for name in AUTUMN} == AUTUMN
    assert row["cancelled_at"] is None
    (listed,) = client_for(ada).get("term-breaks").json()["items"]
    assert listed == row


@pytest.mark.parametrize("who", ["ada", "bo"])
def test_others_do_not_write_them(client_for, request, cy, who):
    row = written(client_for(cy)).json()["id"]
    client = client_for(request.getfixturevalue(who))
    assert client.post("term-breaks", AUTUMN).status_code == 403
    assert client.patch(f"term-breaks/{row}", {"name": "Mine"}).status_code == 403
    assert client.post(f"term-breaks/{row}/cancellation").status_code == 403


def test_a_break_changes_on_the_version_that_was_read(client_for, cy):
    client, row = client_for(cy), written(client_for(cy)).json()["id"]
    read = client.get(f"term-breaks/{row}")
    answer = client.patch(f"term-breaks/{row}", {"last_day": "2026-10-18"}, etag=read["ETag"])
    assert (answer.status_code, answer.json()["last_day"]) == (200, "2026-10-18")
    assert client.patch(f"term-breaks/{row}", {"name": "Late"}, etag=read["ETag"]).status_code == 412


@pytest.mark.parametrize(
    ("days", "code"),
    [
        ({"first_day": "2026-10-17", "last_day": "2026-10-05"}, "break.reversed"),
        ({"first_day": "2026-01-01", "last_day": "2026-07-20"}, "break.long"),
    ],
)
def test_days_that_make_no_break(client_for, cy, days, code):
    client = client_for(cy)
    answer = client.post("term-breaks", {**AUTUMN, **days})
    assert (answer.status_code, answer.json()["code"]) == (400, code)
    assert answer.json()["errors"][0]["pointer"] == "/last_day"
    row = written(client).json()["id"]
    assert client.patch(f"term-breaks/{row}", days).json()["code"] == code
    assert TermBreak.objects.get(public_id=row).version == 1
    assert (
        client.post("term-breaks", {**AUTUMN, "first_day": "2026-10-17", "last_day": "2026-10-17"}).status_code == 201
    )


def test_a_break_taken_back_stays_on_record_and_is_not_changed_any_more(client_for, cy):
    client, row = client_for(cy), written(client_for(cy)).json()["id"]
    assert client.post(f"term-breaks/{row}/cancellation").status_code == 200
    assert client.get(f"term-breaks/{row}").json()["cancelled_at"]
    assert client.post(f"term-breaks/{row}/cancellation").json()["code"] == "break.cancelled"
    assert client.patch(f"term-breaks/{row}", {"name": "Again"}).status_code == 409
    assert not TermBreak.objects.standing().filter(public_id=row)
