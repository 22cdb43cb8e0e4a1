"""What a vessel is good for and until when: by its date, its history, its count and the air that got in."""

from datetime import timedelta
from decimal import Decimal

import pytest

from chemistry.commands import standing, transfer
from chemistry.models import VesselState
from darkroom_service import clock
from darkroom_service.localday import day_of
from tests.chemistry import bench, brew

ZONE = "Europe/Berlin"


@pytest.fixture
def staffed(room, bo, eli, cy):
    """The room with its technicians and its instructor."""
    return room


def days_ago(days):
    return clock.now() - timedelta(days=days)


def judged(vessel, at=None):
    return standing.assess(bench.fresh(vessel), at or clock.now(), ZONE)


def drawn(vessel, amount, who, at):
    """Decant some of a vessel into a bottle that it fills."""
    target = brew.bottle(vessel.darkroom, amount)
    given = {"source": vessel.public_id, "target": target.public_id, "volume": bench.ml(amount)}
    with clock.fixed(at):
        return brew.do(transfer.decant, who, **given)


def test_full_and_tight_keeps_six_months_and_part_full_two(staffed, bo):
    # MQ-borax: 6 months full, 2 part-full (common practice, no source).
    start = days_ago(10)
    vessel = brew.filled(staffed, ml="1000", at=start)
    made_on = day_of(vessel.made_at, ZONE)
    assert (vessel.use_by.year * 12 + vessel.use_by.month) - (made_on.year * 12 + made_on.month) == 6
    drawn(vessel, "250", bo, days_ago(3))
    opened_on = day_of(days_ago(3), ZONE)
    use_by = bench.fresh(vessel).use_by
    assert (use_by.year * 12 + use_by.month) - (opened_on.year * 12 + opened_on.month) == 2


def test_a_tenth_of_headspace_still_counts_as_full(staffed, bo):
    vessel = brew.filled(staffed, ml="1000", at=days_ago(3))
    drawn(vessel, "100", bo, days_ago(2))
    assert bench.fresh(vessel).part_full_since is None
    drawn(vessel, "10", bo, days_ago(1))
    assert bench.fresh(vessel).part_full_since is not None


def test_a_date_that_has_passed_asks_for_a_test_and_says_which_rule_set_it(staffed):
    vessel = brew.filled(staffed, at=days_ago(200))
    found = judged(vessel)
    assert found.state == VesselState.TEST_FIRST
    assert "6 months full and tight" in found.reasons[0]


def test_what_is_not_released_waits(staffed, bo):
    drum = brew.drum_of(brew.mixed_batch(staffed, at=days_ago(2)))
    assert judged(drum).state == VesselState.WAITING


def test_nothing_is_promised_for_stock_diluted_one_to_one(staffed, bo):
    vessel, target = brew.filled(staffed, ml="1000"), brew.bottle(staffed, "1000")
    given = {"source": vessel.public_id, "target": target.public_id, "volume": 10_000}
    brew.do(transfer.dilute, bo, **given, dilution="1+1")
    found = judged(target)
    assert (found.state, found.use_by) == (VesselState.TEST_FIRST, None)
    assert "use it at once" in found.reasons[0]


def test_a_working_strength_is_counted_in_hours_from_when_it_was_diluted(staffed):
    start = clock.now()
    vessel = brew.working(staffed, dilution="1+9")
    # 1+9 keeps 168 hours: the starter formula's own figure.
    assert judged(vessel, start + timedelta(hours=167)).state == VesselState.READY
    assert judged(vessel, start + timedelta(hours=169)).state == VesselState.TEST_FIRST


def test_a_bath_that_has_done_its_count_is_spent(staffed, bo, client_for):
    vessel = brew.filled(staffed, ml="1000")
    line = bench.line(staffed, vessel)
    for _ in range(5):
        answer = client_for(bo).post("check-ins", bench.reuse(line, rolls=2, size="600", compensate=True))
        assert answer.status_code == 201, answer.json()
    found = judged(vessel)
    # 10 roll units per litre of reused stock with longer times (common practice, no source).
    assert (found.state, found.total) == (VesselState.SPENT, 10)
    assert found.left <= 0


@pytest.mark.parametrize(("draws", "left"), [(1, "0.936"), (2, "0.744"), (3, "0.169")])
def test_each_draw_from_a_litre_lets_in_air_that_may_take_its_hydroquinone(staffed, bo, draws, left):
    # 250 mL drawn three times from a glass litre: derived from 8.71 mmol O2 per litre of dry air at 20 °C.
    vessel = brew.filled(staffed, ml="1000", at=days_ago(4))
    for day in range(draws):
        drawn(vessel, "250", bo, days_ago(3 - day))
    found = judged(vessel)
    assert found.bound.worst_left == pytest.approx(Decimal(left), abs=Decimal("0.002"))
    assert found.bound.test_first is (Decimal(left) < Decimal("0.9"))


def test_the_air_never_moves_the_date(staffed, bo):
    vessel = brew.filled(staffed, ml="1000", at=days_ago(4))
    drawn(vessel, "250", bo, days_ago(3))
    day = bench.fresh(vessel).use_by
    drawn(vessel, "500", bo, days_ago(2))
    assert bench.fresh(vessel).use_by == day
    assert judged(vessel).state == VesselState.TEST_FIRST


def test_plastic_lets_air_in_through_its_wall_and_glass_does_not(staffed):
    glass = brew.filled(staffed, ml="1000", at=days_ago(100))
    plastic = brew.filled(staffed, ml="1000", material="hdpe", at=days_ago(100))
    assert judged(plastic).bound.worst_left < Decimal("0.92") < judged(glass).bound.worst_left


def test_half_the_strength_has_half_the_hydroquinone_to_lose(staffed, bo):
    stock, target = brew.filled(staffed, ml="1000"), brew.bottle(staffed, "2000")
    given = {"source": stock.public_id, "target": target.public_id, "volume": 15_000}
    brew.do(transfer.dilute, bo, **given, dilution="1+1")
    # 500 mL of air over 1500 mL take 2.90 mmol of each litre's 22.7 (half of 45.4): 0.128 (derived).
    assert 1 - judged(target, clock.now() + timedelta(days=1)).bound.worst_left == pytest.approx(
        Decimal("0.128"), abs=Decimal("0.004")
    )


def test_topping_up_mixes_the_air_by_volume_and_closes_over_less(staffed, bo):
    vessel = brew.filled(staffed, ml="1000", at=days_ago(9))
    drawn(vessel, "500", bo, days_ago(8))
    fresh = brew.filled(staffed, ml="500", at=days_ago(1))
    before = judged(vessel).bound.worst_left
    brew.do(transfer.decant, bo, source=fresh.public_id, target=vessel.public_id, volume=5000)
    after = judged(vessel).bound.worst_left
    # Half had taken up 8.71 mmol/L, half nothing: about half the loss is left.
    assert 1 - after == pytest.approx((1 - before) / 2, abs=Decimal("0.005"))


def test_an_opening_told_late_lets_in_one_airful_more(staffed, bo):
    vessel = brew.filled(staffed, ml="1000", at=days_ago(9))
    drawn(vessel, "500", bo, days_ago(2))
    before = bench.fresh(vessel).oxygen_low
    late = {"source": vessel.public_id, "target": brew.bottle(staffed, "50").public_id, "volume": 100}
    brew.do(transfer.decant, bo, at=days_ago(5), **late)
    # 510 mL of air over 490 mL: 8.71 x 510 / 490 = 9.07 mmol/L (8.71 mmol O2 per litre of dry air at 20 °C).
    assert bench.fresh(vessel).oxygen_low - before == pytest.approx(Decimal("9.07"), abs=Decimal("0.01"))


def test_a_late_draw_recomputes_the_day_it_stood_part_full(staffed, bo):
    vessel = brew.filled(staffed, ml="1000", at=days_ago(30))
    drawn(vessel, "300", bo, days_ago(5))
    assert bench.fresh(vessel).part_full_since == pytest.approx(days_ago(5), abs=timedelta(minutes=1))
    given = {"source": vessel.public_id, "target": brew.bottle(staffed, "200").public_id, "volume": 2000}
    row = brew.do(transfer.decant, bo, at=days_ago(20), **given)
    assert bench.fresh(vessel).part_full_since == row.occurred_at
    # 50 mL told late from the full bottle leave it full for that day.
    other = brew.filled(staffed, ml="1000", at=days_ago(30))
    drawn(other, "300", bo, days_ago(5))
    small = {"source": other.public_id, "target": brew.bottle(staffed, "50").public_id, "volume": 500}
    brew.do(transfer.decant, bo, at=days_ago(20), **small)
    assert bench.fresh(other).part_full_since == pytest.approx(days_ago(5), abs=timedelta(minutes=1))


def test_an_empty_vessel_is_emptied_and_promises_nothing(staffed):
    found = judged(brew.bottle(staffed))
    assert (found.state, found.use_by, found.left, found.bound) == (VesselState.EMPTIED, None, None, None)
