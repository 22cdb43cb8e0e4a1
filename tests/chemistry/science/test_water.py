"""Blending water. Derived from equal heat capacity unless said otherwise."""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from chemistry.science import water
from chemistry.science.water import blend


@pytest.mark.parametrize(
    ("volume", "hot", "cold", "target", "hot_ml", "cold_ml"),
    [(1000, 60, 12, 40, "583.33", "416.67"), (750, 60, 10, 52, "630", "120")],
)
def test_two_taps_make_the_temperature_between(volume, hot, cold, target, hot_ml, cold_ml):
    parts = dict(blend(Decimal(volume), Decimal(target), Decimal(hot), Decimal(cold)).parts)
    assert abs(parts["hot tap"] - Decimal(hot_ml)) <= Decimal("0.05")
    assert abs(parts["cold tap"] - Decimal(cold_ml)) <= Decimal("0.05")


def test_below_the_cold_tap_is_not_possible_without_ice():
    found = blend(Decimal(1000), Decimal(20), Decimal(40), Decimal(25))
    assert (found.feasible, found.reason, found.parts) == (False, "target below cold supply", ())
    assert found.offers == (
        "cool with ice: 952.2 mL from the cold tap and 47.8 g of ice",
        "work at 25 °C with the time for that, if the formula allows",
    )


def test_above_the_hot_tap_is_not_possible_without_a_kettle():
    found = blend(Decimal(1000), Decimal(52), Decimal(45), Decimal(12))
    assert (found.feasible, found.reason) == (False, "target above hot supply")
    assert found.offers == ("boil a kettle: 127.3 mL from the kettle and 872.7 mL from the hot tap",)


def test_a_kettle_and_the_hotter_tap_take_the_least_boiling_water():
    assert blend(Decimal(1000), Decimal(52), Decimal(45), Decimal(12), kettle=True).parts == (
        ("kettle", Decimal("127.3")),
        ("hot tap", Decimal("872.7")),
    )


def test_ice_cools_by_melting():
    """1 L from 25 to 20 °C: 47.8 g of ice (heat of fusion 333.55 J/g, from memory)."""
    assert blend(Decimal(1000), Decimal(20), Decimal(40), Decimal(25), ice=True).parts == (
        ("cold tap", Decimal("952.2")),
        ("ice", Decimal("47.8")),
    )


def test_a_tap_at_the_target_is_poured_alone():
    assert blend(Decimal(500), Decimal(20), Decimal(60), Decimal(20)).parts == (("cold tap", Decimal(500)),)
    assert blend(Decimal(500), Decimal(60), Decimal(60), Decimal(20)).parts == (("hot tap", Decimal(500)),)


def test_a_part_too_small_to_measure_is_left_out():
    assert blend(Decimal(100), Decimal("12.01"), Decimal(60), Decimal(12)).parts == (("cold tap", Decimal(100)),)


@pytest.mark.parametrize(("target", "reason"), [(100, "target above hot supply"), (0, "target below cold supply")])
def test_boiling_and_freezing_are_still_water(target, reason):
    assert blend(Decimal(500), Decimal(target), Decimal(60), Decimal(10)).reason == reason


@pytest.mark.parametrize("target", ["-1", "101"])
def test_no_blend_is_ice_or_steam(target):
    found = blend(Decimal(500), Decimal(target), Decimal(60), Decimal(10), kettle=True, ice=True)
    assert not found.feasible
    assert "between 0 and 100 °C" in found.offers[0]


def test_made_up_hot_falls_one_per_cent_short():
    """Made up at 50 °C, read at 20 °C: 1.0 % short."""
    assert abs(water.short_of_mark(Decimal(50), Decimal(20)) - Decimal("0.010")) <= Decimal("0.0005")
    assert water.short_of_mark(Decimal(20), Decimal(20)) == 0
    assert water.short_of_mark(Decimal(10), Decimal(20)) < 0


@pytest.mark.parametrize(("celsius", "density"), [(4, "999.97"), (20, "998.20"), (50, "988.04"), (100, "958.36")])
def test_the_density_of_water_is_the_handbooks(celsius, density):
    """Standard density table of water, from memory."""
    assert abs(water.density(Decimal(celsius)) - Decimal(density)) <= Decimal("0.02")


tenths = st.decimals(0, 100, places=1)


@given(st.decimals(100, 20000, places=1), tenths, tenths, tenths, st.booleans(), st.booleans())
def test_blends_add_up_and_mix_to_the_target(volume, target, hot, cold, kettle, ice):
    found = blend(volume, target, hot, cold, kettle=kettle, ice=ice)
    assume(found.feasible)
    heat = {"hot tap": hot, "cold tap": cold, "kettle": water.KETTLE_C, "ice": -water.MELTING_K}
    assert sum(ml for _, ml in found.parts) == volume
    mixed = sum(ml * heat[name] for name, ml in found.parts) / volume
    assert abs(mixed - target) <= Decimal("0.1")


@given(tenths, tenths, tenths)
def test_with_kettle_and_ice_everything_liquid_is_possible(target, hot, cold):
    assert blend(Decimal(1000), target, hot, cold, kettle=True, ice=True).feasible
