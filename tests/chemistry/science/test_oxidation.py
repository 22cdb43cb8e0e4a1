"""The physical bound beside the date. Derived values follow from the ideal gas and the 1:1 reaction (from memory)."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import oxidation
from chemistry.science.oxidation import Dose, Opening

DRAWN = [Opening(Decimal(day), Decimal(ml)) for day, ml in ((0, 1000), (7, 750), (14, 500), (21, 250))]
HQ = Decimal(5)  # g/L in an MQ-borax stock, from memory


def bound(openings, nominal, material, days, **more):
    """An MQ-borax stock: 5 g/L hydroquinone, 100 g/L sulfite (from memory)."""
    return oxidation.bound(openings, Decimal(nominal), material, Decimal(days), HQ, **{"sulfite_g_per_l": 100} | more)


def near(found, expected, tolerance):
    return abs(found - Decimal(expected)) <= Decimal(tolerance)


def test_a_litre_of_dry_air_holds_8_71_mmol_of_oxygen():
    found = oxidation.oxygen_per_litre()
    assert near(found, "8.709", "0.01")
    assert near(found * 32 / 1000, "0.2787", "0.0005")  # grams


def test_humid_air_holds_a_little_less():
    assert near(oxidation.oxygen_per_litre(water_kpa=Decimal("2.339")), "8.508", "0.01")


def test_what_a_litre_of_air_can_take_from_the_bath():
    """1:1 with hydroquinone beside sulfite, and 2:1 as the most there can be."""
    assert near(oxidation.hydroquinone_taken(Decimal("8.709")), "0.959", "0.003")
    assert near(oxidation.hydroquinone_taken(Decimal("8.709"), per_oxygen=2), "1.918", "0.003")
    assert near(oxidation.sulfite_taken(Decimal("8.709")), "2.1955", "0.003")


def test_a_half_full_litre_may_lose_a_fifth():
    found = bound([Opening(Decimal(0), Decimal(500))], 1000, "glass", 30)
    assert near(1 - found.worst_left, "0.1918", "0.002")
    assert found.test_first


def test_a_brimful_quarter_litre_loses_almost_nothing():
    """Four full 250 mL bottles with 5 mL of air each instead of one part-full litre."""
    found = bound([Opening(Decimal(0), Decimal(250))], 255, "glass", 30)
    assert near(1 - found.worst_left, "0.00384", "0.0002")
    assert not found.test_first


@pytest.mark.parametrize(("draws", "left", "test_first"), [(1, "0.936", False), (2, "0.744", True), (3, "0.169", True)])
def test_a_litre_drawn_by_quarters_nearly_dies_at_the_last(draws, left, test_first):
    """Scenario s18, a day after the last draw: airfuls alone, so the wall is left out; test first below 0.9."""
    found = bound(DRAWN[: draws + 1], 1000, "glass", 22)
    assert near(found.worst_left, left, "0.001")
    assert found.test_first is test_first


def test_a_plastic_wall_adds_to_the_worst_case_of_a_drawn_litre():
    glass, hdpe = (bound(DRAWN[:3], 1000, material, 22) for material in ("glass", "hdpe"))
    assert hdpe.worst_left < glass.worst_left
    assert hdpe.best_left == glass.best_left == 1  # sulfite may have taken it all


def test_the_permeability_unit_of_the_tables():
    assert near(oxidation.PERMEABILITY_UNIT, "0.3937", "0.0001")  # arithmetic exact


@pytest.mark.parametrize(
    ("permeability", "wall", "cm3", "mmol", "days"),
    [
        ("100", "1.0", "0.5361", "0.02191", "207.2"),
        ("3", "0.4", "0.0402", "0.00164", "2762.9"),
        ("6", "0.4", "0.0804", "0.00329", "1381.4"),
    ],
)
def test_oxygen_through_the_wall_of_a_litre(permeability, wall, cm3, mmol, days):
    """HDPE and PET, digilib.universitaspertamina.ac.id page 368 (25 °C); 0.065 m2 assumed; within 1 %."""
    daily = oxidation.oxygen_through_wall(Decimal(permeability), Decimal(wall), Decimal("0.065"))
    assert near(daily / Decimal(mmol), 1, "0.01")
    assert near(daily * oxidation.MOLAR_VOLUME_L / Decimal(cm3), 1, "0.01")
    assert near(oxidation.days_to_loss(daily, Decimal(1000), HQ, Decimal("0.1")) / Decimal(days), 1, "0.01")


@pytest.mark.parametrize(
    ("ml", "area", "days"), [(250, "0.0258", "74.6"), (1000, "0.065", "118.4"), (5000, "0.19006", "202.5")]
)
def test_small_plastic_bottles_are_worse_per_litre(ml, area, days):
    """Area grows with volume to the power 2/3; HDPE in the middle of its range, 175."""
    found = oxidation.wall_area(Decimal(ml))
    assert near(found, area, "0.0001")
    daily = oxidation.oxygen_through_wall(Decimal(175), Decimal("1.0"), found)
    assert near(oxidation.days_to_loss(daily, Decimal(ml), HQ, Decimal("0.1")), days, "0.5")


@pytest.mark.parametrize(("day", "test_first"), [(82, False), (84, True), (207, True)])
def test_a_full_plastic_litre_asks_for_a_test_in_its_third_month(day, test_first):
    """83 days through the leakiest HDPE: a worst case that asks for a test and sets no date."""
    assert bound([Opening(Decimal(0), Decimal(1000))], 1000, "hdpe", day).test_first is test_first


def test_an_unknown_bottle_ranges_from_glass_to_the_leakiest():
    full = [Opening(Decimal(0), Decimal(1000))]
    found = oxidation.dose(full, Decimal(1000), "a mystery", Decimal(100))
    assert found.low == oxidation.dose(full, Decimal(1000), "glass", Decimal(100)).low == 0
    assert found.high == oxidation.dose(full, Decimal(1000), "hdpe", Decimal(100)).high


def test_a_bath_without_sulfite_loses_one_to_two_for_each_oxygen():
    best, worst = oxidation.left(Dose(Decimal(10), Decimal(10)), HQ, Decimal(0))
    assert near(1 - best, "0.2202", "0.0001")
    assert near((1 - worst) / (1 - best), 2, "0.001")


def test_a_passed_test_starts_the_count_of_doubt_again():
    drawn = (DRAWN[:3], 1000, "glass", 22)
    assert bound(*drawn).test_first
    assert not bound(*drawn, worst_left_at_pass=Decimal("0.744")).test_first
    assert bound(DRAWN, 1000, "glass", 22, worst_left_at_pass=Decimal("0.744")).test_first


def test_what_the_liquid_brought_along_is_counted():
    fresh = bound([Opening(Decimal(0), Decimal(1000))], 1000, "glass", 0)
    tired = bound([Opening(Decimal(0), Decimal(1000))], 1000, "glass", 0, start=Dose(Decimal(5), Decimal(5)))
    assert (fresh.worst_left, tired.worst_left) == (1, Decimal("0.8899"))


def test_the_wall_counts_each_day_over_what_stood_there_that_day():
    """Ten days over a litre and twenty over half of it are fifty litre-days; arithmetic."""
    openings = [Opening(Decimal(0), Decimal(1000)), Opening(Decimal(10), Decimal(500))]
    glass, hdpe = (oxidation.dose(openings, Decimal(1000), wall, Decimal(30)) for wall in ("glass", "hdpe"))
    assert near(hdpe.low - glass.low, 50 * Decimal("0.02191"), "0.001")
    assert near(hdpe.high - glass.high, 50 * Decimal("0.05478"), "0.001")


def test_sulfite_covers_half_its_own_amount_of_oxygen():
    """10 mmol/L of sulfite take 5 of oxygen: of 10, 5 reach hydroquinone at best and 15 at worst."""
    best, worst = oxidation.left(Dose(Decimal(10), Decimal(10)), HQ, Decimal("1.26043"))
    assert near(1 - best, 5 / Decimal("45.41"), "0.0001")
    assert near(1 - worst, 15 / Decimal("45.41"), "0.0001")


def test_a_loss_of_just_a_tenth_needs_no_test_yet():
    left = bound(DRAWN[:3], 1000, "glass", 22).worst_left
    assert not bound(DRAWN[:3], 1000, "glass", 22, worst_left_at_pass=left + Decimal("0.1")).test_first
    assert bound(DRAWN[:3], 1000, "glass", 22, worst_left_at_pass=left + Decimal("0.1001")).test_first


def test_an_emptied_vessel_takes_up_nothing_more():
    assert oxidation.dose([Opening(Decimal(0), Decimal(0))], Decimal(1000), "hdpe", Decimal(99)) == Dose(
        Decimal(0), Decimal(0)
    )


def test_a_still_tray_takes_up_a_millimole_an_hour():
    """20 x 25 cm, film theory, k from memory: 2.6 % of 4 g/L hydroquinone an hour at most."""
    found = oxidation.tray_uptake(Decimal("0.05"))
    assert near(found, "0.936", "0.05")
    assert near(100 * oxidation.hydroquinone_taken(found) / 4, "2.58", "0.05")


def test_alkali_doubles_the_rate_from_ph_9_3_to_10_5():
    """Abstract, qikan article 4000691225."""
    assert near(oxidation.alkali_factor(Decimal("9.3"), Decimal("10.5")), 2, "0.2")
    assert oxidation.alkali_factor(Decimal(10), Decimal(10)) == 1


contents = st.lists(st.integers(0, 1000), min_size=1, max_size=8)


@given(contents, st.sampled_from(["glass", "hdpe", "pet", "other"]), st.integers(0, 400), st.integers(0, 100))
def test_the_range_is_in_order_and_never_recovers(levels, material, days, sulfite):
    openings = [Opening(Decimal(day), Decimal(ml)) for day, ml in enumerate(levels)]
    after = Decimal(len(levels) + days)
    now = bound(openings, 1000, material, after, sulfite_g_per_l=Decimal(sulfite))
    later = bound(openings, 1000, material, after + 30, sulfite_g_per_l=Decimal(sulfite))
    assert 0 <= now.worst_left <= now.best_left <= 1
    assert later.worst_left <= now.worst_left
    assert later.best_left <= now.best_left


def test_air_let_out_again_at_once_does_no_harm():
    """Four bottles filled from one drum within minutes: the airfuls between have no time to act (derived)."""
    hour = Decimal(1) / 24
    quick = [oxidation.Opening(hour * step, Decimal(1000 - 250 * step)) for step in range(4)]
    slow = bound(quick, 1000, "glass", quick[-1].day + 1).worst_left
    assert bound(quick[:3], 1000, "glass", quick[-1].day).worst_left > Decimal("0.95")
    assert slow < Decimal("0.5")
