"""The calendar feed: read back by another reader (vobject), secret, revocable, and without anybody's name."""

import re
from datetime import date, timedelta

import pytest
import vobject

from accounts.commands import feed
from accounts.models import Feed
from darkroom_service import clock
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(ada, client_for):
    answer = client_for(ada).post("feeds")
    assert answer.status_code == 201
    assert answer["Cache-Control"] == "no-store"
    return answer.json()["address"].removeprefix("https://darkroom.example.org")


def events(response):
    assert response.status_code == 200
    return list(vobject.readOne(response.content.decode()).contents.get("vevent", []))


def test_it_reads_as_whole_days_by_another_reader(client, ada, address):
    told = make.notice(ada, due_on=date(2026, 11, 28), posted_at=clock.now())
    response = client.get(address)
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    [event] = events(response)
    assert event.dtstart.value == date(2026, 11, 28)
    assert event.dtend.value == date(2026, 11, 29)
    assert event.uid.value == str(told.public_id)
    assert event.summary.value == "A batch one asked for is approved"
    # RFC 5545 3.1: lines end with CRLF and hold at most 75 octets.
    lines = response.content.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75


def test_the_uid_and_the_bytes_stay_the_same_and_etag_saves_them(client, ada, address):
    make.notice(ada)
    first, second = client.get(address), client.get(address)
    assert first.content == second.content
    assert "private" in first["Cache-Control"]
    assert client.get(address, HTTP_IF_NONE_MATCH=first["ETag"]).status_code == 304
    assert client.get(address, HTTP_IF_NONE_MATCH=f"W/{first['ETag']}").status_code == 304
    make.notice(ada)
    assert client.get(address, HTTP_IF_NONE_MATCH=first["ETag"]).status_code == 200


def test_it_names_nobody_and_shows_only_ones_own(client, ada, bo, address):
    make.notice(ada, text="Bo Brandt stopped it. BEGIN:VEVENT", kind="vessel-stopped")
    make.notice(bo)
    response = client.get(address)
    assert len(events(response)) == 1
    assert b"Brandt" not in response.content
    assert b"Adler" not in response.content


def test_a_hostile_room_name_stays_a_name(client, ada, address):
    ada.darkroom.name = "Room\r\nBEGIN:VEVENT\r\nSUMMARY:x;,\\"
    ada.darkroom.save()
    assert events(client.get(address)) == []


def test_own_sign_offs_end_on_their_last_day(client, ada, cy, address):
    make.signed_off(cy, ada, "room-induction", expires_on=date(2027, 5, 31))
    [event] = events(client.get(address))
    assert event.summary.value.startswith("Sign-off ends: ")
    assert event.dtstart.value == date(2027, 5, 31)


def test_the_secret_is_long_stored_nowhere_and_rights_are_asked_at_each_fetch(client, ada, address):
    make.notice(ada)
    secret = re.fullmatch(r"/feeds/([A-Za-z0-9_-]+)\.ics", address)[1]
    assert len(secret) * 6 >= 256
    row = Feed.objects.get()
    assert row.digest == feed.digest(secret)
    assert secret not in str(row.__dict__)
    assert client.get(address).status_code == 200
    ada.left_at = clock.now()
    ada.save()
    gone = client.get(address)
    assert gone.status_code == 404
    ada.left_at = None
    ada.save()
    ada.person.is_active = False
    ada.person.save()
    assert client.get(address).status_code == 404


def test_an_ended_address_is_like_one_that_never_was(client, ada, client_for, address):
    speaker = client_for(ada)
    [row] = speaker.get("feeds").json()["items"]
    assert speaker.post(f"feeds/{row['id']}/revocation").status_code == 201
    assert speaker.post(f"feeds/{row['id']}/revocation").status_code == 409
    never = "/feeds/" + "A" * 43 + ".ics"
    for path in (address, never, "/feeds/x.ics", "/feeds/%00.ics"):
        answer = client.get(path)
        assert (answer.status_code, answer.content) == (404, client.get(never).content)


def test_a_new_address_ends_the_one_before(client, ada, client_for, address):
    new = client_for(ada).post("feeds").json()["address"].removeprefix("https://darkroom.example.org")
    assert client.get(address).status_code == 404
    assert client.get(new).status_code == 200


def test_addresses_are_ones_own(ada, bo, client_for, address):
    row = Feed.objects.get()
    assert client_for(bo).get("feeds").json()["items"] == []
    assert client_for(bo).get(f"feeds/{row.public_id}").status_code == 404
    assert client_for(bo).post(f"feeds/{row.public_id}/revocation").status_code == 404


def test_the_same_key_tells_the_same_address(ada, client_for):
    from uuid import uuid4

    key, speaker = uuid4(), client_for(ada)
    assert speaker.post("feeds", key=key).json() == speaker.post("feeds", key=key).json()
    assert Feed.objects.count() == 1


def test_a_year_of_notices_costs_no_more_questions(client, ada, address, django_assert_max_num_queries):
    for n in range(20):
        make.notice(ada, due_on=clock.now().date() + timedelta(days=n))
    with django_assert_max_num_queries(5):
        assert len(events(client.get(address))) == 20


def test_no_log_holds_the_address(address):
    from darkroom_service.logs import conceal

    told = conceal(None, "info", {"request": f"GET {address}", "event": "request_started"})
    assert told["request"] == "GET /feeds/***"
