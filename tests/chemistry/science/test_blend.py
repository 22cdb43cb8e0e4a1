"""Liquids that meet or part."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import blend
from chemistry.science.blend import Contents, combine, divide, share
from chemistry.science.oxidation import Dose

OLD, NEW = date(2026, 1, 1), date(2026, 3, 1)
ROLL = 3600


def test_a_third_poured_out_takes_a_third_of_the_load():
    assert share(7 * ROLL, 2500, 7500) == 7 * 1200


@pytest.mark.parametrize(("load", "moved"), [(1, 0), (3, 2), (5, 2)])
def test_half_a_grid_unit_goes_to_the_even_one(load, moved):
    assert share(load, 1, 2) == moved


def test_the_whole_takes_everything_and_nothing_takes_nothing():
    assert (share(17, 9, 9), share(17, 0, 9), share(17, 0, 0)) == (17, 0, 0)


@pytest.mark.parametrize(("part", "whole"), [(10, 9), (-1, 9)])
def test_more_than_there_is_is_no_part(part, whole):
    with pytest.raises(ValueError, match="not a part"):
        share(17, part, whole)


def test_topping_up_carries_load_and_oxygen_and_keeps_the_oldest_date():
    """Scenario s09: half a litre that has done two rolls meets half a litre of another, fresh batch."""
    worked = Contents(5000, 5000, 2 * ROLL, OLD, Dose(Decimal(4), Decimal(6)))
    both = combine(worked, Contents(5000, 5000, 0, NEW))
    assert both == Contents(10000, 10000, 2 * ROLL, OLD, Dose(Decimal(2), Decimal(3)))


def test_oxygen_mixes_by_volume_share():
    """Three parts at 2 and one part at 6 mmol/L make 3; arithmetic."""
    much = Contents(7500, 7500, 0, OLD, Dose(Decimal(2), Decimal(2)))
    assert combine(much, Contents(2500, 2500, 0, OLD, Dose(Decimal(6), Decimal(6)))).oxygen.high == 3


def test_two_empty_vessels_keep_the_worse_dose():
    nothing = Contents(0, 0, 0, OLD, Dose(Decimal(1), Decimal(2)))
    assert combine(nothing, Contents(0, 0, 0, NEW)).oxygen == Dose(Decimal(1), Decimal(2))


def test_carry_out_leaves_load_and_basis_alone():
    litre = Contents(10000, 10000, 4 * ROLL, OLD)
    assert blend.correct(litre, 9600) == Contents(9600, 10000, 4 * ROLL, OLD)


def test_pouring_a_tank_out_and_back_changes_the_vessel_only_by_what_film_carried_out():
    tank, rest = divide(Contents(10000, 10000, 4 * ROLL, OLD), 5000)
    back = combine(rest, blend.correct(tank, 4800))
    assert back == Contents(9800, 10000, 4 * ROLL, OLD)


def test_the_last_drop_takes_the_whole_basis_after_carry_out():
    poured, stays = divide(Contents(9600, 10000, 4 * ROLL, OLD), 9600)
    assert (poured.basis, poured.load, stays.volume, stays.basis, stays.load) == (10000, 4 * ROLL, 0, 0, 0)


contents = st.builds(
    Contents,
    volume=st.integers(0, 200_000),
    basis=st.integers(0, 200_000),
    load=st.integers(0, 100 * ROLL),
    made_on=st.dates(),
)


@given(contents, st.data())
def test_dividing_and_combining_again_loses_nothing(whole, data):
    part = data.draw(st.integers(0, whole.volume))
    assert combine(*divide(whole, part)) == whole


@given(contents, contents)
def test_combining_adds_up_in_any_order_and_is_never_younger(one, other):
    both = combine(one, other)
    assert both == combine(other, one)
    assert both.load == one.load + other.load
    assert both.basis == one.basis + other.basis
    assert both.made_on <= one.made_on
