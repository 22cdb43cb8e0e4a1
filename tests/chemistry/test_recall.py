"""The recall of a vessel: who used it since its last good test is told, and staff see who has read it."""

from datetime import UTC, datetime, timedelta

import pytest

from accounts.models import Notice
from chemistry.commands import bathtest
from chemistry.models import Vessel
from darkroom_service import clock
from tests.chemistry import brew

MIXED = datetime(2026, 11, 2, 10, tzinfo=UTC)


@pytest.fixture
def used(room, ada, bo, cy, max):
    """A drum that Max used, that then passed a test, and that Ada used after it."""
    with clock.fixed(MIXED - timedelta(days=3)):
        brew.signed(room, ada, "room-induction")
        brew.released_batch(room, at=MIXED)
    vessel = Vessel.objects.get(darkroom=room, contents__gt=0)
    with clock.fixed(MIXED + timedelta(days=1)):
        through = brew.line(room, developer=vessel)
        brew.develop(max, through, 1)
    with clock.fixed(MIXED + timedelta(days=2)):
        brew.do(bathtest.record, bo, vessel=vessel.public_id, kind="clip", matches=True)
    with clock.fixed(MIXED + timedelta(days=3)):
        brew.develop(ada, through, 1)
    return vessel


def recall(client, vessel, reason="The lot was called back."):
    return client.post(f"vessels/{vessel.public_id}/recall", {"reason": reason})


def test_who_used_it_since_its_last_good_test_is_told_and_nobody_else(client_for, bo, ada, used):
    answer = recall(client_for(bo), used)
    assert (answer.status_code, answer.json()["told"]) == (201, [str(ada.public_id)])
    assert answer.json()["since"] == "2026-11-04T10:00:00Z"
    (row,) = Notice.objects.filter(kind="recall")
    assert (row.to, row.safety) == (ada, True)
    assert "The lot was called back." in row.text


def test_staff_see_who_has_read_it(client_for, bo, ada, used):
    staff, address = client_for(bo), f"vessels/{used.public_id}/recall"
    (before,) = staff.get(address).json()["items"]
    assert (before["name"], before["told"], before["read_at"]) == ("Ada Adler", False, None)
    recall(staff, used)
    row = Notice.objects.get(kind="recall")
    client_for(ada).post(f"notices/{row.public_id}/reading")
    (after,) = staff.get(address).json()["items"]
    assert after["told"]
    assert after["read_at"] is not None


def test_one_key_tells_once(client_for, bo, used):
    client, key = client_for(bo), "0d0dd2f0-0000-4000-8000-000000000001"
    for _ in range(2):
        body = {"reason": "In doubt."}
        assert client.post(f"vessels/{used.public_id}/recall", body, key=key).status_code == 201
    assert Notice.objects.filter(kind="recall").count() == 1


def test_a_member_neither_recalls_nor_sees_who_used_it(client_for, ada, used):
    assert recall(client_for(ada), used).status_code == 403
    assert client_for(ada).get(f"vessels/{used.public_id}/recall").status_code == 403


def test_a_vessel_never_filled_has_nothing_to_recall(client_for, room, bo, cy):
    answer = recall(client_for(bo), brew.bottle(room))
    assert (answer.status_code, answer.json()["code"]) == (409, "vessel.unused")


def test_listing_takes_the_same_queries_however_many_used_it(
    client_for, room, bo, cy, ada, eli, used, django_assert_num_queries, django_assert_max_num_queries
):
    client, address = client_for(bo), f"vessels/{used.public_id}/recall"
    with django_assert_max_num_queries(20) as one:
        client.get(address)
    through = brew.line(room, developer=used)
    for who in (eli, cy, bo):
        brew.develop(who, through, 1)
    with django_assert_num_queries(len(one)):
        assert len(client.get(address).json()["items"]) == 4
