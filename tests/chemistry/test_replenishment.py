"""Replenishment: what is owed, what was added and poured off, and how much of the old is left."""

from datetime import timedelta

import pytest

from chemistry.commands import bathtest, proof, transfer
from chemistry.models import Movement, Stop, Transfer, Vessel
from darkroom_service import clock
from tests.chemistry import bench, brew
from tests.waste import pail
from waste.models import Fill


@pytest.fixture
def staffed(room, bo, eli, cy):
    """The room with its technicians and its instructor."""
    return room


@pytest.fixture
def tank(staffed, bo, client_for):
    """A litre of MQ-borax kept alive by its replenisher, four rolls having gone through."""
    vessel = brew.filled(staffed, ml="1000")
    line = bench.line(staffed, vessel)
    said = bench.tank(line, rolls=4, size="1000", use="replenished", dilution="stock")
    answer = client_for(bo).post("check-ins", said)
    assert answer.status_code == 201, answer.json()
    return bench.fresh(vessel)


@pytest.fixture
def replenisher(staffed):
    """A bottle of the bath's replenisher."""
    return brew.filled(staffed, "mq-borax-replenisher", "1000")


def added(client, tank, source, amount, off=None, can=None, **more):
    said = {"replenisher": str(source.public_id), "added": bench.quantity(amount), **more}
    said |= {"poured_off": bench.quantity(off)} if off else {}
    said |= {"container": str(can.public_id)} if can else {}
    return client.post(f"vessels/{tank.public_id}/replenishment", said)


def shown(client, tank):
    return client.get(f"vessels/{tank.public_id}").json()


def adds_up(room):
    return list(proof.differences(room.pk)) == []


def test_each_roll_owes_its_dose_and_adding_it_settles_that(staffed, bo, tank, replenisher, client_for):
    client, can = client_for(bo), pail.can(bo, "bw-developer")
    # 70 mL for each roll unit (common practice 45-100 mL; the figure belongs to the formula): four owe 280.
    assert shown(client, tank)["replenishing"]["owed"]["value"] == "280.0"
    answer = added(client, tank, replenisher, "280", "260", can)
    assert bench.codes(answer) == []
    assert answer.json()["owed"]["value"] == "0.0"
    now = bench.fresh(tank)
    assert now.contents == tank.contents - 2600 + 2800
    assert Fill.objects.get(container=can).volume == 2600
    assert bench.fresh(replenisher).contents == 7200
    assert now.batch == tank.batch  # the same bath, kept alive
    assert adds_up(staffed)


def test_turnovers_and_the_share_of_the_old_are_shown(staffed, bo, tank, replenisher, client_for):
    client, can = client_for(bo), pail.can(bo, "bw-developer")
    bench.codes(added(client, tank, replenisher, "280", "260", can))
    seen = shown(client, tank)["replenishing"]
    assert seen["added"]["value"] == "280.0"
    litre = bench.fresh(tank).contents / 10
    assert float(seen["turnovers"]) == pytest.approx(280 / litre, abs=0.005)
    # (1 - r/V)^n with r = 70 mL and n = 4 doses: derived.
    assert float(seen["original_fraction"]) == pytest.approx((1 - 70 / litre) ** 4, abs=1e-4)


def test_less_than_owed_leaves_the_rest_owed_and_more_is_no_credit(staffed, bo, tank, replenisher, client_for):
    client, can = client_for(bo), pail.can(bo, "bw-developer")
    assert added(client, tank, replenisher, "100", "80", can).json()["owed"]["value"] == "180.0"
    assert added(client, tank, replenisher, "400", "400", can).json()["owed"]["value"] == "0.0"


def test_pouring_off_takes_its_share_of_the_load(staffed, bo, tank, replenisher, client_for):
    can = pail.can(bo, "bw-developer")
    half = str(tank.contents / 20)
    bench.codes(added(client_for(bo), tank, replenisher, "280", half, can))
    assert abs(bench.fresh(tank).load - tank.load / 2) <= 1
    assert Fill.objects.get().origin["load_units"] == pytest.approx(tank.load / 2, abs=1)


def test_a_weekly_strip_not_the_mixing_day_dates_a_replenished_bath(staffed, bo, tank, client_for):
    # Weekly, as a rule (common practice).
    assert (tank.use_by - tank.filled_at.date()).days in (7, 8)
    assert "control strip every 7 days" in tank.use_by_rule
    with clock.fixed(clock.now() + timedelta(days=9)):
        assert shown(client_for(bo), tank)["state"] == "test_first"
        brew.do(bathtest.record, bo, vessel=tank.public_id, density=brew.Decimal("1.30"))
        assert shown(client_for(bo), tank)["state"] == "ready"


def test_another_liquid_is_recorded_flagged_and_stops_the_bath(staffed, bo, tank, client_for):
    other = brew.filled(staffed, "washing-aid", "500")
    answer = added(client_for(bo), tank, other, "10")
    assert "replenisher.other" in bench.codes(answer)
    assert bench.fresh(tank).state == "stopped"
    assert Stop.objects.get(vessel=tank).kind == "rule_broken"


def test_a_bath_that_is_not_replenished_is_flagged(staffed, bo, replenisher, client_for):
    fixer = brew.working(staffed, ml="500")
    Vessel.objects.filter(pk=fixer.pk).update(nominal=10000)
    assert bench.codes(added(client_for(bo), fixer, replenisher, "50")) == ["formula.not_replenished"]


def test_overflow_needs_its_container(staffed, bo, tank, replenisher, client_for):
    answer = added(client_for(bo), tank, replenisher, "100", "90")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/container")
    assert not Transfer.objects.filter(kind="replenish").exists()
    assert bench.fresh(tank).version == tank.version


def test_more_than_the_tank_holds_by_the_record_is_written_and_flagged(staffed, bo, tank, replenisher, client_for):
    """The record may be wrong, and what was done was done: only what no tank could take at all is refused."""
    assert "vessel.overfull" in bench.codes(added(client_for(bo), tank, replenisher, "200"))
    answer = added(client_for(bo), tank, replenisher, "5000")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/added")


def test_foreign_vessels_and_the_tank_itself_are_no_replenisher(staffed, bo, tank, outsider, client_for):
    itself = added(client_for(bo), tank, tank, "50")
    assert (itself.status_code, itself.json()["errors"][0]["pointer"]) == (400, "/replenisher")
    absent = added(client_for(bo), tank, outsider, "50")
    assert (absent.status_code, absent.json()["errors"][0]["pointer"]) == (400, "/replenisher")
    assert added(client_for(outsider), tank, tank, "50").status_code == 404


def test_a_dose_taken_back_is_owed_again(staffed, bo, tank, replenisher, client_for):
    client, can = client_for(bo), pail.can(bo, "bw-developer")
    row = Transfer.objects.get(public_id=added(client, tank, replenisher, "280", "260", can).json()["id"])
    brew.do(transfer.reverse, bo, row, reason="another tank")
    now = bench.fresh(tank)
    assert (now.replenish_owed, now.contents, now.load) == (2800, tank.contents, tank.load)
    assert bench.fresh(replenisher).contents == 10000
    assert not Movement.objects.filter(source="unaccounted").exists()
    assert adds_up(staffed)
