"""What a sign-off that stands means: who sees it, who takes it back, and what is covered then."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from accounts.models import Notice, Revocation
from accounts.models.signoff import missing_topics, topics_held
from darkroom_service import clock
from tests import make

POWDER = "powder-handling"
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def at_noon():
    with clock.fixed(NOON):
        yield


def revoke(client, row, reason="broke the rules of the room", key=None):
    return client.post(f"sign-offs/{row.public_id}/revocation", {"reason": reason}, key)


@pytest.mark.parametrize(("who", "kind"), [("cy", "revoked"), ("di", "suspended"), ("bo", "given_up")])
def test_an_instructor_revokes_an_admin_suspends_and_the_holder_gives_up(client_for, request, cy, bo, who, kind):
    (row,) = make.signed_off(cy, bo, POWDER)
    assert topics_held(bo, [POWDER], NOON) == {POWDER}
    answer = revoke(client_for(request.getfixturevalue(who)), row)
    assert (answer.status_code, answer.json()["kind"]) == (201, kind)
    assert topics_held(bo, [POWDER], NOON) == set()


def test_what_was_done_before_a_revocation_stays_covered(client_for, cy, bo):
    (row,) = make.signed_off(cy, bo, POWDER)
    with clock.fixed(NOON + timedelta(days=2)):
        revoke(client_for(cy), row)
    assert topics_held(bo, [POWDER], NOON + timedelta(days=1)) == {POWDER}
    assert topics_held(bo, [POWDER], NOON + timedelta(days=2)) == set()


def test_the_holder_is_told_of_a_revocation_but_not_of_what_they_gave_up_themselves(client_for, cy, bo):
    for row, who in zip(make.signed_off(cy, bo, POWDER, "ppe"), (cy, bo), strict=True):
        revoke(client_for(who), row)
    notice = Notice.objects.get(kind="sign-off-revoked")
    assert (notice.to, notice.safety) == (bo, True)


def test_a_technician_takes_nobody_elses_sign_off_back(client_for, cy, bo, eli):
    (row,) = make.signed_off(cy, eli, POWDER)
    answer = revoke(client_for(bo), row)
    assert (answer.status_code, answer.json()["code"]) == (403, "sign-off.not_own")


def test_a_member_does_not_even_see_it(client_for, cy, bo, ada):
    (row,) = make.signed_off(cy, bo, POWDER)
    assert revoke(client_for(ada), row).status_code == 404


def test_a_sign_off_is_taken_back_once_and_the_same_key_tells_the_same_answer(client_for, cy, bo):
    (row,) = make.signed_off(cy, bo, POWDER)
    client, key = client_for(cy), uuid4()
    first, again = revoke(client, row, key=key), revoke(client, row, key=key)
    assert (again.status_code, again.content) == (201, first.content)
    assert revoke(client, row).json()["code"] == "sign-off.revoked"
    assert Revocation.objects.count() == 1


def test_a_revocation_needs_a_reason(client_for, cy, bo):
    (row,) = make.signed_off(cy, bo, POWDER)
    assert revoke(client_for(cy), row, reason=" ").json()["errors"][0]["pointer"] == "/reason"


def test_after_a_revocation_a_new_sign_off_counts(client_for, cy, bo):
    (row,) = make.signed_off(cy, bo, POWDER)
    revoke(client_for(cy), row)
    make.signed_off(cy, bo, POWDER)
    assert topics_held(bo, [POWDER], NOON) == {POWDER}


def test_members_see_their_own_sign_offs_only(client_for, cy, ada, bo):
    make.signed_off(cy, bo, POWDER)
    (own,) = make.signed_off(cy, ada, POWDER)
    items = client_for(ada).get("sign-offs").json()["items"]
    assert [item["id"] for item in items] == [str(own.public_id)]
    assert items[0]["signer"] == str(cy.public_id)


@pytest.mark.parametrize("who", ["bo", "di"])
def test_technicians_and_admins_see_topic_and_standing_of_others(client_for, request, cy, ada, who):
    (row,) = make.signed_off(cy, ada, POWDER)
    seen = client_for(request.getfixturevalue(who)).get(f"sign-offs/{row.public_id}").json()
    assert seen == {"id": str(row.public_id), "member": str(ada.public_id), "topic": POWDER, "standing": True}


def test_an_instructor_sees_everything_of_a_sign_off(client_for, cy, ada):
    (row,) = make.signed_off(cy, ada, POWDER)
    revoke(client_for(cy), row, reason="left the fan off")
    seen = client_for(cy).get(f"sign-offs/{row.public_id}").json()
    assert (seen["standing"], seen["topic_number"], seen["outside_training"]) == (False, 1, False)
    assert (seen["revocation"]["kind"], seen["revocation"]["reason"]) == ("revoked", "left the fan off")


def test_sign_offs_are_found_by_member_topic_and_standing(client_for, cy, ada, bo):
    powder, ppe = make.signed_off(cy, ada, POWDER, "ppe")
    make.signed_off(cy, bo, POWDER)
    client = client_for(cy)
    revoke(client, ppe)

    def found(query):
        return {item["id"] for item in client.get(f"sign-offs?{query}").json()["items"]}

    assert found(f"member={ada.public_id}") == {str(powder.public_id), str(ppe.public_id)}
    assert found(f"member={ada.public_id}&standing=true") == {str(powder.public_id)}
    assert found(f"member={ada.public_id}&standing=false") == {str(ppe.public_id)}
    assert len(found(f"topic={POWDER}")) == 3
    assert found(f"member={uuid4()}") == set()


@pytest.mark.parametrize("query", ["member=42", "standing=yes", "topic=Powder"])
def test_a_query_that_cannot_be_read_is_refused(client_for, cy, query):
    assert client_for(cy).get(f"sign-offs?{query}").status_code == 400


def test_another_darkrooms_member_finds_nothing_of_ours(client_for, cy, ada, outsider):
    make.signed_off(cy, ada)
    assert client_for(outsider).get(f"sign-offs?member={ada.public_id}").json()["items"] == []


def test_listing_sign_offs_takes_the_same_queries_however_many_there_are(
    client_for, cy, ada, bo, django_assert_num_queries
):
    client = client_for(cy)
    with django_assert_num_queries(3):
        client.get("sign-offs")
    make.signed_off(cy, ada)
    revoke(client, make.signed_off(cy, bo)[0])
    with django_assert_num_queries(3):
        assert len(client.get("sign-offs").json()["items"]) == 9


def test_missing_topics_come_in_the_order_asked_in_one_query(cy, bo, django_assert_num_queries):
    make.signed_off(cy, bo, "ppe")
    with django_assert_num_queries(1):
        assert missing_topics(bo, [POWDER, "ppe", "no-such", POWDER], NOON) == [POWDER, "no-such"]
    with django_assert_num_queries(0):
        assert missing_topics(bo, [], NOON) == []
