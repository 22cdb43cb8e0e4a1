"""Leaving a darkroom, and what each role sees of its members."""

from uuid import uuid4

import pytest

from accounts.models import Membership, RoleChange, Token
from tests import make


def test_who_leaves_finds_nothing_any_more_and_their_tokens_are_gone(client_for, ada):
    client = client_for(ada)
    assert client.post(f"members/{ada.public_id}/departure").status_code == 200
    assert Token.objects.filter(user=ada.person).count() == 0
    assert client_for(ada).get("topics").status_code == 404
    assert RoleChange.objects.filter(membership=ada, held=False).count() == 1


def test_who_leaves_one_of_two_darkrooms_keeps_the_tokens_for_the_other(client_for, di, outsider):
    speaking = client_for(outsider)
    client_for(di).post("members", {"person": str(outsider.person.public_id)})
    joined = Membership.objects.get(darkroom=di.darkroom, person=outsider.person)
    client_for(di).post(f"members/{joined.public_id}/departure")
    assert speaking.get("topics").status_code == 200
    assert speaking.get(f"/api/v1/darkrooms/{di.darkroom.slug}/topics").status_code == 404


def test_a_removal_told_again_is_answered_as_before(client_for, di, ada):
    client, key = client_for(di), uuid4()
    first = client.post(f"members/{ada.public_id}/departure", key=key)
    again = client.post(f"members/{ada.public_id}/departure", key=key)
    assert (first.status_code, again.content) == (200, first.content)
    assert client.post(f"members/{ada.public_id}/departure").status_code == 404
    assert client.get(f"members/{ada.public_id}").status_code == 404


def test_a_member_removes_nobody_else(client_for, ada, bo):
    answer = client_for(ada).post(f"members/{bo.public_id}/departure")
    assert (answer.status_code, answer.json()["code"]) == (403, "member.not_own")


def test_members_see_names_and_the_initials_of_minors(client_for, ada, max, di):
    items = client_for(ada).get("members").json()["items"]
    shown = {item["id"]: item for item in items}
    assert shown[str(max.public_id)] == {"id": str(max.public_id), "name": "M. M. M."}
    assert shown[str(di.public_id)] == {"id": str(di.public_id), "name": "Di Dorn"}
    assert shown[str(ada.public_id)]["username"] == ada.person.username


@pytest.mark.parametrize(
    ("who", "fields"),
    [
        ("bo", {"id", "name", "roles"}),
        ("cy", {"id", "name", "roles", "minor_until"}),
        ("di", {"id", "name", "roles", "minor_until", "username", "email", "joined_at"}),
    ],
)
def test_each_role_sees_of_a_pupil_what_the_table_says(client_for, request, max, who, fields):
    row = client_for(request.getfixturevalue(who)).get(f"members/{max.public_id}").json()
    assert row.keys() == fields
    assert row["name"] == "Max Maria Mohn"


def test_listing_members_takes_the_same_queries_however_many_there_are(client_for, di, ada, django_assert_num_queries):
    client = client_for(di)
    with django_assert_num_queries(3):
        client.get("members")
    for _ in range(5):
        make.member(di)
    with django_assert_num_queries(3):
        assert len(client.get("members").json()["items"]) == 7


def test_members_come_in_pages_that_lose_nobody(client_for, di, ada, bo):
    client = client_for(di)
    first = client.get("members?limit=2").json()
    second = client.get(first["next"]).json()
    assert [len(first["items"]), len(second["items"]), second["next"]] == [2, 1, None]
    assert len({item["id"] for item in first["items"] + second["items"]}) == 3
