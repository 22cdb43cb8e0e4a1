from uuid import uuid4

import pytest

from accounts.models import Notice, SignOff, Topic, TopicVersion
from tests import make

SCREENS = {"code": "screen-work", "name": "Screen work", "text": "How to wash a screen.", "valid_months": 6}


def powder(room):
    return Topic.objects.get(darkroom=room, code="powder-handling")


def test_an_instructor_makes_a_topic_and_everybody_reads_it(client_for, cy, ada):
    answer = client_for(cy).post("topics", SCREENS)
    assert answer.status_code == 201
    row = client_for(ada).get(answer["Location"]).json()
    assert {name: row[name] for name in SCREENS} == SCREENS
    assert (row["number"], row["retired_at"]) == (1, None)


def test_a_code_is_used_once_in_a_darkroom(client_for, cy):
    client = client_for(cy)
    client.post("topics", SCREENS)
    assert client.post("topics", {**SCREENS, "name": "Other"}).json()["code"] == "topic.code_taken"


@pytest.mark.parametrize("who", ["ada", "bo", "di"])
def test_only_instructors_write_topics(client_for, request, who, room):
    client, row = client_for(request.getfixturevalue(who)), powder(room)
    assert client.post("topics", SCREENS).status_code == 403
    assert client.patch(f"topics/{row.public_id}", {"name": "Mine"}).status_code == 403
    assert client.post(f"topics/{row.public_id}/retirement").status_code == 403


def test_a_change_is_a_new_version_and_sign_offs_keep_theirs(client_for, cy, bo, room):
    make.signed_off(cy, bo, "powder-handling")
    row = powder(room)
    answer = client_for(cy).patch(f"topics/{row.public_id}", {"text": "Now with the new fan.", "valid_months": 6})
    assert (answer.json()["number"], answer.json()["text"]) == (2, "Now with the new fan.")
    assert TopicVersion.objects.get(topic=row, number=1).valid_months == 12
    assert SignOff.objects.get(trainee=bo).topic_version.number == 1


def test_holders_are_told_of_a_new_version_once(client_for, cy, bo, ada, room):
    make.signed_off(cy, bo, "powder-handling")
    client_for(cy).patch(f"topics/{powder(room).public_id}", {"name": "Powders"})
    told = Notice.objects.filter(kind="topic-changed").values_list("to", flat=True)
    assert set(told) == {cy.pk, bo.pk}


def test_a_change_on_an_old_version_is_refused(client_for, cy, room):
    client, address = client_for(cy), f"topics/{powder(room).public_id}"
    etag = client.get(address)["ETag"]
    assert client.patch(address, {"name": "One"}, etag=etag).status_code == 200
    assert client.patch(address, {"name": "Two"}, etag=etag).status_code == 412


def test_a_retired_topic_is_neither_changed_nor_signed_off_nor_made_anew(client_for, cy, bo, room):
    client, row = client_for(cy), powder(room)
    (given,) = make.signed_off(cy, bo, "powder-handling")
    assert client.post(f"topics/{row.public_id}/retirement").status_code == 200
    assert client.patch(f"topics/{row.public_id}", {"name": "Back"}).json()["code"] == "topic.retired"
    body = {"members": [str(bo.public_id)], "topics": ["powder-handling"]}
    assert client.post("sign-offs", body).json()["code"] == "topic.retired"
    assert client.post("topics", {**SCREENS, "code": "powder-handling"}).json()["code"] == "topic.code_taken"
    assert client.get(f"sign-offs/{given.public_id}").json()["standing"] is True


def test_retiring_told_again_is_answered_as_before(client_for, cy, room):
    client, address, key = client_for(cy), f"topics/{powder(room).public_id}/retirement", uuid4()
    first, again = client.post(address, key=key), client.post(address, key=key)
    assert (first.status_code, first.content) == (again.status_code, again.content)
    assert client.post(address).status_code == 409


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("valid_months", 0),
        ("valid_months", 121),
        ("valid_months", "6"),
        ("code", "Screen"),
        ("name", ""),
        ("colour", 1),
    ],
)
def test_a_badly_shaped_topic_is_refused_with_its_place(client_for, cy, field, value):
    answer = client_for(cy).post("topics", {**SCREENS, field: value})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, f"/{field}")


def test_listing_topics_takes_the_same_queries_however_many_there_are(client_for, cy, django_assert_num_queries):
    client = client_for(cy)
    with django_assert_num_queries(3):
        assert len(client.get("topics").json()["items"]) == 3
    client.post("topics", SCREENS)
    with django_assert_num_queries(3):
        assert len(client.get("topics").json()["items"]) == 4
