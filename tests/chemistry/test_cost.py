"""Cost: a standard rate frozen at check-in, and the rest to the darkroom, so that the shares are the whole."""

from decimal import Decimal
from fractions import Fraction

import pytest
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chemistry.commands import checkin, cost, run, transfer
from chemistry.commands.report import Report
from chemistry.models import Batch, CostShare
from chemistry.science.cost import cheaper_percent, per_litre
from darkroom_service import clock
from tests.chemistry import bench, brew
from tests.waste import pail


@pytest.fixture
def staffed(room, bo, eli, cy, ada):
    """The room with its people, Ada inducted."""
    bench.inducted(room, ada)
    return room


def borne(batch, **who):
    return CostShare.objects.filter(batch=batch, **who).aggregate(sum=Sum("minor"))["sum"] or 0


def test_the_smaller_packet_may_be_the_cheaper_one():
    # A 3.8 L packet at 12 against a 5 L packet at 20: common practice, arithmetic.
    assert cheaper_percent(per_litre(1200, Decimal(3800)), per_litre(2000, Decimal(5000))) == Decimal("21.1")


def test_a_one_shot_roll_costs_its_stock(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed))
    answer = client_for(ada).post("check-ins", bench.tank(line, size="500"))
    assert answer.json()["cost"] == {"minor": 79, "currency": "EUR"}  # 250 mL of 3800 mL at 12.00: 78.9


@pytest.mark.parametrize(("compensate", "minor"), [(False, 79), (True, 32)])
def test_a_reused_roll_costs_its_part_of_what_a_litre_does(staffed, ada, client_for, compensate, minor):
    # A quarter of a litre, or a tenth with compensation: 12.00 / 3.8 / 4 = 78.9, / 10 = 31.6.
    line = bench.line(staffed, bench.developer(staffed))
    answer = client_for(ada).post("check-ins", bench.reuse(line, compensate=compensate))
    assert answer.json()["cost"]["minor"] == minor


def test_a_replenished_roll_costs_the_replenisher_it_asks_for(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed))
    answer = client_for(ada).post("check-ins", bench.tank(line, use="replenished", dilution="stock"))
    assert answer.json()["cost"]["minor"] == 22  # 70 mL of 3800 mL at 12.00: 22.1


def test_every_vessel_of_the_line_is_paid_for(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed), full=True)
    answer = client_for(ada).post("check-ins", bench.tank(line, size="500"))
    shares = CostShare.objects.filter(member=ada)
    assert answer.json()["cost"]["minor"] == shares.aggregate(sum=Sum("minor"))["sum"] > 79
    assert shares.values("batch").distinct().count() >= 2


def test_a_rate_that_rises_later_changes_nothing_that_was_frozen(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed))
    made = client_for(ada).post("check-ins", bench.tank(line)).json()
    Batch.objects.update(cost_minor=999_999)
    assert client_for(ada).get(f"check-ins/{made['id']}").json()["cost"]["minor"] == 79


def test_a_batch_made_from_another_takes_over_what_went_into_it(staffed):
    bath = brew.working(staffed, "rapid-fixer", "1+4", "1000")
    source = Batch.objects.exclude(pk=bath.batch_id).get(origin="opened")
    assert bath.batch.cost_minor == 180  # 200 mL of 1000 mL at 9.00
    assert borne(source, into=bath.batch) == 180


def test_the_rest_goes_to_the_darkroom_when_the_last_vessel_is_empty(staffed, bo, ada, client_for):
    bath = bench.developer(staffed)
    line, batch = bench.line(staffed, bath), bath.batch
    client_for(ada).post("check-ins", bench.tank(line))
    can = pail.can(bo, "bw-developer")
    brew.do(transfer.empty, bo, source=brew.drum_of(batch).public_id, container=can.public_id)
    assert borne(batch, member=None) == 0
    brew.do(transfer.empty, bo, source=bath.public_id, container=can.public_id)
    assert borne(batch) == batch.cost_minor == 1200
    assert borne(batch, member=None, into=None) == 1200 - 79


def test_what_is_taken_back_after_the_end_falls_to_the_darkroom(staffed, bo, ada, client_for):
    bath = bench.developer(staffed)
    line, batch = bench.line(staffed, bath), bath.batch
    made = client_for(ada).post("check-ins", bench.tank(line)).json()
    can = pail.can(bo, "bw-developer")
    for vessel in (brew.drum_of(batch), bath):
        brew.do(transfer.empty, bo, source=vessel.public_id, container=can.public_id)
    client_for(bo).post(f"check-ins/{made['id']}/reversal", {"reason": "never done"})
    assert (borne(batch, member=ada), borne(batch)) == (0, 1200)


amounts = st.fractions(min_value=0, max_value=10**6, max_denominator=3600)


@given(st.lists(amounts, max_size=6))
def test_parts_rounded_together_add_up_to_the_rounded_whole(dues):
    parts = cost.split(dues)
    assert sum(parts) == round(sum(dues, Fraction(0)))
    assert all(abs(part - due) < 1 for part, due in zip(parts, dues, strict=True))


tanks = st.tuples(
    st.sampled_from(["135-36", "135-24", "120", "4x5", "220"]),
    st.integers(1, 3),
    st.integers(1000, 9000),
    st.sampled_from([("one_shot", "1+1"), ("one_shot", "stock"), ("reuse", "stock"), ("replenished", "stock")]),
    st.booleans(),
)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(price=st.integers(0, 99_999), asked=st.lists(tanks, max_size=5))
def test_the_shares_of_any_check_ins_and_the_rest_are_exactly_the_cost(staffed, bo, ada, price, asked):
    batch = brew.released_batch(staffed, price=price)
    drum = brew.drum_of(batch)
    line = bench.line(staffed, drum)
    for code, count, size, (use, dilution), compensate in asked:
        films = (run.Film(code, count),)
        told = Report(line=line.public_id, films=films, tank=size, use=use, dilution=dilution, compensate=compensate)
        brew.do(checkin.create, ada, report=told)
    if bench.fresh(drum).contents:
        can = pail.can(bo, "bw-developer", rated="1000000")
        brew.do(transfer.empty, bo, source=drum.public_id, container=can.public_id)
    assert borne(batch) == price
    assert clock.now() >= Batch.objects.get(pk=batch.pk).closed_at
