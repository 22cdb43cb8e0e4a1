"""A check-in taken back: every row mirrored, none erased, what followed recomputed, once only."""

import pytest
from django.db.models import Sum

from accounts.models import Notice
from chemistry.models import Charge, CheckIn, CostShare, Movement, Reversal, Vessel, VesselState
from tests.chemistry import bench
from waste.models import Container


@pytest.fixture
def line(room, bo, eli, cy, ada):
    """A full line with containers, and Ada inducted."""
    bench.inducted(room, ada)
    return bench.line(room, bench.developer(room), full=True, cans=True)


def totals(line):
    vessels = Vessel.objects.filter(darkroom=line.darkroom_id).order_by("pk")
    shown = ("contents", "basis", "load", "area", "use", "film_or_paper", "state", "replenish_owed", "part_full_since")
    return list(vessels.values_list(*shown)), list(Container.objects.order_by("pk").values_list("contents", flat=True))


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"use": "reuse", "dilution": "stock"},
        {"use": "replenished", "dilution": "stock"},
        {"tank": bench.quantity("2500")},
    ],
)
def test_a_check_in_taken_back_leaves_everything_as_it_was(line, ada, client_for, more):
    before, client = totals(line), client_for(ada)
    made = client.post("check-ins", bench.tank(line) | more).json()
    assert totals(line) != before
    answer = client.post(f"check-ins/{made['id']}/reversal", {"reason": "typed twice"})
    assert answer.status_code == 201
    assert totals(line) == before
    assert CostShare.objects.filter(member=ada).aggregate(sum=Sum("minor"))["sum"] == 0
    assert CheckIn.objects.count() == 1
    told = client.get(f"check-ins/{made['id']}").json()["reversal"]
    assert (told["id"], told["reason"]) == (answer.json()["id"], "typed twice")


def test_every_row_is_mirrored_by_one_that_names_it(line, ada, client_for):
    client = client_for(ada)
    made = client.post("check-ins", bench.tank(line)).json()
    entry = CheckIn.objects.get().entry_id
    client.post(f"check-ins/{made['id']}/reversal", {"reason": "typed twice"})
    for rows in (Movement.objects, Charge.objects, CostShare.objects):
        assert set(rows.filter(entry=entry)) == {row.reverses for row in rows.exclude(reverses=None)}


def test_a_check_in_is_taken_back_once(line, ada, client_for):
    client = client_for(ada)
    made = client.post("check-ins", bench.tank(line)).json()
    client.post(f"check-ins/{made['id']}/reversal", {"reason": "typed twice"})
    before = totals(line)
    again = client.post(f"check-ins/{made['id']}/reversal", {"reason": "again"})
    assert again.status_code == 409
    assert (Reversal.objects.count(), totals(line)) == (1, before)


def test_the_author_and_the_staff_take_back_and_nobody_else(line, ada, bo, max, di, client_for):
    mine = client_for(ada).post("check-ins", bench.tank(line)).json()["id"]
    said = {"reason": "typed twice"}
    assert client_for(max).post(f"check-ins/{mine}/reversal", said).status_code == 404
    assert client_for(di).post(f"check-ins/{mine}/reversal", said).status_code == 404
    assert not Reversal.objects.exists()
    assert client_for(bo).post(f"check-ins/{mine}/reversal", said).status_code == 201


@pytest.mark.parametrize("body", [{}, {"reason": ""}, {"reason": 5}, {"reason": "x", "more": 1}])
def test_a_reason_is_needed(line, ada, client_for, body):
    made = client_for(ada).post("check-ins", bench.tank(line)).json()
    assert client_for(ada).post(f"check-ins/{made['id']}/reversal", body).status_code == 400


def test_the_technician_is_told_when_a_vessel_is_good_again(line, ada, bo, client_for):
    client = client_for(ada)
    body = bench.reuse(line, rolls=10, size="1000", compensate=True)
    made = client.post("check-ins", body).json()
    bath = line.steps.get(role="developer").vessel
    assert bath.state == VesselState.SPENT
    client.post(f"check-ins/{made['id']}/reversal", {"reason": "one roll, not ten"})
    assert bench.fresh(bath).state == VesselState.READY
    assert f"{bath.code} was spent and is ready" in Notice.objects.get(to=bo, kind="check-in-reversed").text


def test_a_stop_that_a_report_caused_goes_with_it_and_a_doubt_stays(line, ada, client_for):
    client, stop = client_for(ada), line.steps.get(role="stop").vessel
    films = [{"format": "135-36", "process": "backed_motion_picture"}]
    made = client.post("check-ins", bench.tank(line) | {"films": films}).json()
    assert bench.fresh(stop).state == VesselState.STOPPED
    client.post(f"check-ins/{made['id']}/reversal", {"reason": "it was ordinary film"})
    assert bench.fresh(stop).state == VesselState.READY
    made = client.post("check-ins", bench.tank(line) | {"films": films}).json()
    client.post(f"vessels/{stop.public_id}/stop", {"reason": "it smells odd"})
    client.post(f"check-ins/{made['id']}/reversal", {"reason": "it was ordinary film again"})
    assert bench.fresh(stop).state == VesselState.STOPPED


def test_the_way_of_use_stays_where_others_used_the_vessel_too(line, ada, client_for):
    client = client_for(ada)
    first = client.post("check-ins", bench.reuse(line)).json()
    client.post("check-ins", bench.reuse(line))
    client.post(f"check-ins/{first['id']}/reversal", {"reason": "typed twice"})
    bath = bench.fresh(line.steps.get(role="developer").vessel)
    assert (bath.use, bath.load) == ("reuse", 3600)


def test_another_darkroom_sees_nothing_to_take_back(line, ada, outsider, client_for):
    made = client_for(ada).post("check-ins", bench.tank(line)).json()
    assert client_for(outsider).post(f"check-ins/{made['id']}/reversal", {"reason": "mine"}).status_code == 404
