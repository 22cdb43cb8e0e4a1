"""The calendar feed holds what is coming: vessels, pickups and own sign-offs, as far as the reader may see them now."""

from datetime import date, timedelta

import pytest
import vobject
from django.db import connection
from django.test.utils import CaptureQueriesContext

from chemistry.models import Vessel
from darkroom_service import clock
from tests import make
from tests.chemistry import bench, brew
from tests.waste import pail
from waste.commands import pickup
from waste.commands.pickup import Item

pytestmark = pytest.mark.django_db


def events(client, client_for, who):
    address = client_for(who).post("feeds").json()["address"].removeprefix("https://darkroom.example.org")
    return read(client, address)


def read(client, address):
    response = client.get(address)
    assert response.status_code == 200
    return {event.uid.value: event for event in vobject.readOne(response.content.decode()).contents.get("vevent", [])}


def only(room):
    """Return the room's one vessel that holds anything: what it was drawn from is made empty."""
    kept = bench.developer(room)
    Vessel.objects.filter(darkroom=room).exclude(pk=kept.pk).update(contents=0)
    return kept


def collection(who, day):
    held = pail.can(who)
    pail.poured(who, held)
    papers = {
        "carrier": "Weir & Low Carriers", "carrier_authorisation": "CB-1", "destination": "Holm works",
        "destination_authorisation": "P-9", "document_number": "N-17", "transport": "road", "treatment": "R4",
    }  # fmt: skip
    items = [Item(held.public_id)]
    return pail.do(pickup.plan, who, way="collection", planned_for=day, items=items, **papers)


def test_the_last_day_of_a_shared_vessel_is_a_whole_day_and_moves_with_it(client, client_for, room, ada, bo):
    vessel = only(room)
    Vessel.objects.filter(pk=vessel.pk).update(name="Bo Brandt's jug")
    uid, day = str(vessel.public_id), Vessel.objects.get(pk=vessel.pk).use_by
    address = client_for(ada).post("feeds").json()["address"].removeprefix("https://darkroom.example.org")
    first = read(client, address)[uid]
    assert (first.dtstart.value, first.dtend.value) == (day, day + timedelta(days=1))
    assert vessel.batch.formula_version.formula.name in first.summary.value
    assert vessel.code in first.summary.value
    assert "Brandt" not in first.summary.value, "a vessel's name may be a person's"
    assert first.url.value == f"https://darkroom.example.org/api/v1/darkrooms/{room.slug}/vessels/{uid}"
    row = Vessel.objects.get(pk=vessel.pk)
    row.use_by, row.version = day - timedelta(days=3), row.version + 1
    row.save()
    second = read(client, address)[uid]
    assert second.dtstart.value == day - timedelta(days=3)
    # RFC 5545 3.8.7.4: the sequence grows when the date of an event changes.
    assert int(second.sequence.value) > int(first.sequence.value)


@pytest.mark.parametrize("change", [{"state": "stopped"}, {"state": "emptied", "contents": 0}, {"use_by": None}])
def test_a_vessel_nobody_trusts_any_more_goes_from_the_calendar(client, client_for, room, ada, change):
    vessel = only(room)
    assert str(vessel.public_id) in events(client, client_for, ada)
    Vessel.objects.filter(pk=vessel.pk).update(**change)
    assert not events(client, client_for, ada)


def test_what_somebody_else_owns_and_other_rooms_stay_out(client, client_for, room, elsewhere, ada, bo):
    mine = only(room)
    only(elsewhere)
    Vessel.objects.filter(pk=mine.pk).update(owner=ada)
    assert set(events(client, client_for, ada)) == {str(mine.public_id)}
    assert str(mine.public_id) not in events(client, client_for, bo)


def test_pickups_are_for_who_may_read_them_and_rights_are_those_of_the_fetch(client, client_for, ada, bo):
    day = clock.now().date() + timedelta(days=20)
    row = collection(bo, day)
    address = client_for(bo).post("feeds").json()["address"].removeprefix("https://darkroom.example.org")
    event = read(client, address)[str(row.public_id)]
    assert event.dtstart.value == day
    assert event.summary.value == f"Waste pickup {row.code}"
    assert b"Weir" not in client.get(address).content
    assert str(row.public_id) not in events(client, client_for, ada)
    bo.is_technician = False
    bo.save()
    assert str(row.public_id) not in read(client, address)


def test_a_notice_that_says_the_same_is_left_out_until_its_day_is_past(client, client_for, room, ada):
    vessel = only(room)
    path, day = f"vessels/{vessel.public_id}", Vessel.objects.get(pk=vessel.pk).use_by
    make.notice(ada, subject="a", kind="vessel-near-expiry", path=path, due_on=day)
    make.notice(ada, subject="b", kind="vessel-near-expiry", path=path, due_on=clock.now().date() + timedelta(days=2))
    other = make.notice(ada, subject="c", kind="vessel-stopped", path=path, due_on=day)
    past = make.notice(
        ada, subject="d", kind="vessel-near-expiry", path=path, due_on=clock.now().date() - timedelta(days=9)
    )
    found = events(client, client_for, ada)
    assert set(found) == {str(vessel.public_id), str(other.public_id), str(past.public_id)}


def test_a_sign_off_ends_when_a_new_version_outdates_it_first(client, client_for, ada, cy):
    (row,) = make.signed_off(cy, ada, "room-induction", expires_on=date(2027, 5, 31))
    before = events(client, client_for, ada)[str(row.public_id)]
    assert before.dtstart.value == date(2027, 5, 31)
    now = clock.now()
    topic, stale_from = row.topic, now + timedelta(days=30)
    number = topic.versions.latest("number").number + 1
    newest = topic.versions.latest("number")
    newest.pk, newest.number, newest.stale_from = None, number, stale_from
    newest.save()
    after = events(client, client_for, ada)[str(row.public_id)]
    assert after.dtstart.value < date(2027, 5, 31)
    assert int(after.sequence.value) > int(before.sequence.value)


def test_many_vessels_cost_no_more_questions(client, client_for, room, bo, django_assert_num_queries):
    bench.developer(room)
    address = client_for(bo).post("feeds").json()["address"].removeprefix("https://darkroom.example.org")
    with CaptureQueriesContext(connection) as few:
        read(client, address)
    brew.filled(room, "mq-borax", "500")
    with django_assert_num_queries(len(few)):
        assert len(read(client, address)) > 2
