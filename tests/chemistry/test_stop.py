"""Stops: anyone's, at once; lifted by few, and some never."""

from datetime import timedelta
from uuid import uuid4

import pytest

from accounts.models import Notice
from chemistry.commands import batch, stop, transfer
from chemistry.models import Lifting, Stop, Vessel
from darkroom_service import clock
from tests.chemistry import bench, brew
from tests.waste import pail


@pytest.fixture
def staffed(room, bo, eli, cy):
    """The room with its technicians and its instructor."""
    return room


def stopped(client, vessel, reason="it smells", **more):
    return client.post(f"vessels/{vessel.public_id}/stop", {"reason": reason, **more})


def lifted(client, vessel, reason="it was the drain", **more):
    return client.post(f"vessels/{vessel.public_id}/lifting", {"reason": reason, **more})


@pytest.mark.parametrize("who", ["ada", "max", "di", "bo"])
def test_anyone_stops_a_vessel_at_once_and_the_staff_are_told(staffed, bo, cy, client_for, request, who):
    vessel = brew.filled(staffed)
    client = client_for(request.getfixturevalue(who))
    assert stopped(client, vessel).status_code == 201
    shown = client.get(f"vessels/{vessel.public_id}").json()
    assert shown["state"] == "stopped"
    assert "technician or instructor" in shown["reasons"][0]
    told = Notice.objects.filter(kind="vessel-stopped", safety=True)
    assert {bo.pk, cy.pk} <= set(told.values_list("to", flat=True))


def test_a_pupil_has_one_stop_standing_until_somebody_has_looked(staffed, max, bo, eli, client_for):
    first, second = brew.filled(staffed), brew.filled(staffed)
    pupil = client_for(max)
    assert stopped(pupil, first).status_code == 201
    refused = stopped(pupil, second)
    assert (refused.status_code, refused.json()["code"]) == (403, "stop.pending")
    assert bench.fresh(second).state == "ready"
    assert lifted(client_for(eli), first).status_code == 200
    assert stopped(pupil, second).status_code == 201


def test_a_pupil_s_stop_of_what_was_emptied_since_stands_no_more(staffed, max, bo, client_for):
    first, second, can = brew.filled(staffed), brew.filled(staffed), pail.can(bo, "bw-developer")
    assert stopped(client_for(max), first).status_code == 201
    brew.do(transfer.empty, bo, source=first.public_id, container=can.public_id)
    assert stopped(client_for(max), second).status_code == 201


def test_a_technician_who_did_not_mix_it_lifts_it_with_a_reason(staffed, ada, bo, eli, client_for):
    vessel = brew.filled(staffed)
    stopped(client_for(ada), vessel)
    mixer, other = (bo, eli) if vessel.batch.mixed_by_id == bo.pk else (eli, bo)
    staffed.second_person_release = "required"
    staffed.save()
    assert lifted(client_for(ada), vessel).status_code == 403
    assert lifted(client_for(mixer), vessel).json()["code"] == "lifter.mixer"
    assert lifted(client_for(other), vessel, reason="").status_code == 400
    assert lifted(client_for(other), vessel).status_code == 200
    assert bench.fresh(vessel).state == "ready"
    (shown,) = client_for(ada).get(f"vessels/{vessel.public_id}/stops").json()["items"]
    assert shown["lifting"]["by"] == str(other.public_id)


def test_admins_stop_but_do_not_lift(staffed, di, client_for):
    vessel = brew.filled(staffed)
    assert stopped(client_for(di), vessel).status_code == 201
    assert lifted(client_for(di), vessel).status_code == 403


def test_lifting_lifts_every_stop_and_nothing_stopped_is_nothing_to_lift(staffed, ada, bo, eli, client_for):
    vessel = brew.filled(staffed)
    stopped(client_for(ada), vessel)
    stopped(client_for(bo), vessel, reason="brown")
    assert lifted(client_for(eli), vessel).status_code == 200
    assert Lifting.objects.count() == 2
    again = lifted(client_for(eli), vessel)
    assert (again.status_code, again.json()["code"]) == (409, "vessel.not_stopped")


@pytest.mark.parametrize("why", ["test", "withdrawal"])
def test_a_failed_test_and_a_withdrawn_batch_are_never_lifted(staffed, bo, eli, cy, client_for, why):
    vessel = brew.filled(staffed)
    if why == "test":
        client_for(bo).post("tests", {"vessel": str(vessel.public_id), "figures": {"matches": False}})
    else:
        brew.do(batch.withdraw, cy, vessel.batch, reason="the powder was caked")
    stopped(client_for(bo), vessel)
    answer = lifted(client_for(eli), vessel)
    assert (answer.status_code, answer.json()["code"]) == (409, "stop.final")
    assert "empty it to waste" in answer.json()["detail"]
    assert bench.fresh(vessel).state == "stopped"


def test_a_stop_ends_with_what_was_stopped(staffed, bo, client_for):
    vessel, can = brew.filled(staffed), pail.can(bo, "bw-developer")
    drum = brew.drum_of(brew.released_batch(staffed))
    stopped(client_for(bo), vessel)
    brew.do(transfer.empty, bo, source=vessel.public_id, container=can.public_id)
    assert bench.fresh(vessel).state == "emptied"
    brew.do(transfer.decant, bo, source=drum.public_id, target=vessel.public_id, volume=9000)
    assert bench.fresh(vessel).state == "ready"


def test_a_stop_comes_back_when_the_emptying_is_taken_back(staffed, bo, client_for):
    vessel, can = brew.filled(staffed), pail.can(bo, "bw-developer")
    stopped(client_for(bo), vessel)
    row = brew.do(transfer.empty, bo, source=vessel.public_id, container=can.public_id)
    brew.do(transfer.reverse, bo, row, reason="another bottle")
    assert bench.fresh(vessel).state == "stopped"


def test_a_stop_of_an_earlier_filling_is_written_and_stops_nothing_now(staffed, bo, client_for):
    start = clock.now() - timedelta(days=9)
    vessel, can = brew.filled(staffed, at=start), pail.can(bo, "bw-developer")
    brew.do(transfer.empty, bo, source=vessel.public_id, container=can.public_id)
    drum = brew.drum_of(brew.released_batch(staffed))
    brew.do(transfer.decant, bo, source=drum.public_id, target=vessel.public_id, volume=9000)
    assert stopped(client_for(bo), vessel, occurred_at=(start + timedelta(days=1)).isoformat()).status_code == 201
    assert bench.fresh(vessel).state == "ready"


def test_who_planned_a_tank_with_it_is_told(staffed, ada, bo, client_for):
    vessel = brew.filled(staffed, ml="1000")
    bench.inducted(staffed, ada)
    line = bench.line(staffed, vessel)
    assert client_for(ada).post("tank-plans", bench.tank(line, **bench.own(line)) | {"hold": True}).status_code == 201
    stopped(client_for(bo), vessel)
    assert Notice.objects.filter(kind="vessel-stopped", to=ada, safety=True).exists()


def test_a_stop_needs_a_reason_and_something_to_stop(staffed, bo, client_for):
    vessel = brew.filled(staffed)
    assert stopped(client_for(bo), vessel, reason=" ").status_code == 400
    assert stopped(client_for(bo), vessel, reason="x" * 501).status_code == 400
    empty = stopped(client_for(bo), brew.bottle(staffed))
    assert (empty.status_code, empty.json()["code"]) == (409, "vessel.empty")
    assert not Stop.objects.exists()


def test_nothing_is_lifted_before_it_was_stopped(staffed, bo, eli, client_for):
    vessel = brew.filled(staffed, at=clock.now() - timedelta(days=3))
    stopped(client_for(bo), vessel)
    answer = lifted(client_for(eli), vessel, occurred_at=(clock.now() - timedelta(days=1)).isoformat())
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/occurred_at")


def test_the_same_key_stops_once_and_strangers_see_nothing(staffed, ada, outsider, client_for):
    vessel, key = brew.filled(staffed), uuid4()
    path, said = f"vessels/{vessel.public_id}/stop", {"reason": "brown"}
    client = client_for(ada)
    assert client.post(path, said, key).json() == client.post(path, said, key).json()
    assert Stop.objects.count() == 1
    assert client_for(outsider).post(path, said).status_code == 404


def test_a_stopped_vessel_without_a_row_of_its_own_is_told_by_its_batch(staffed, cy):
    vessel = brew.filled(staffed)
    brew.do(batch.withdraw, cy, vessel.batch, reason="caked")
    assert Vessel.objects.get(pk=vessel.pk).state == "stopped"
    assert stop.FINAL.keys() == {"failed_test", "withdrawn"}
