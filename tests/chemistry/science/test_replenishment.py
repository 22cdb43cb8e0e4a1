"""Replenished tanks."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import replenishment
from chemistry.science.formula import Replenishing
from chemistry.science.replenishment import Owed, owed

RATE = Replenishing("mq-borax-replenisher", Decimal(70), 7)  # 70 mL a roll is an illustration


def test_a_turnover_is_a_tankful_of_replenisher():
    """5 L at 70 mL a roll; exact arithmetic."""
    assert abs(replenishment.rolls_per_turnover(Decimal(5000), Decimal(70)) - Decimal("71.429")) <= Decimal("0.001")
    assert replenishment.turnovers(Decimal(7500), Decimal(5000)) == Decimal("1.5")


def test_a_quarter_of_the_first_litre_is_left_after_twenty_rolls():
    """(1 - r/V)^n, derived: 0.23424."""
    assert abs(
        replenishment.original_fraction(Decimal(1000), Decimal(70), Fraction(20)) - Decimal("0.23424")
    ) <= Decimal("0.0001")


def test_half_a_roll_thins_by_the_root_of_a_rolls_share():
    """0.93^0.5; arithmetic."""
    assert replenishment.original_fraction(Decimal(1000), Decimal(70), Fraction(1, 2)) == Decimal("0.96437")


def test_nothing_has_left_before_the_first_roll_and_all_when_a_dose_fills_the_tank():
    assert replenishment.original_fraction(Decimal(1000), Decimal(70), Fraction(0)) == 1
    assert replenishment.original_fraction(Decimal(60), Decimal(70), Fraction(0)) == 1
    assert replenishment.original_fraction(Decimal(60), Decimal(70), Fraction(1)) == 0


def test_carried_out_liquid_makes_room_before_anything_is_poured():
    """Add before the next batch, restore the volume, discard the surplus (US Army SS0514)."""
    assert owed(RATE, load=Fraction(2), added_ml=Decimal(0), contents_ml=Decimal(980), full_ml=Decimal(1000)) == Owed(
        Decimal(140), Decimal(120)
    )
    assert owed(RATE, load=Fraction(2), added_ml=Decimal(0), contents_ml=Decimal(800), full_ml=Decimal(1000)) == Owed(
        Decimal(140), Decimal(0)
    )


def test_what_was_added_is_no_longer_owed():
    assert owed(RATE, load=Fraction(2), added_ml=Decimal(70), contents_ml=Decimal(1000), full_ml=Decimal(1000)) == Owed(
        Decimal(70), Decimal(70)
    )
    assert owed(
        RATE, load=Fraction(2), added_ml=Decimal(150), contents_ml=Decimal(1000), full_ml=Decimal(1000)
    ) == Owed(Decimal(0), Decimal(0))


def test_two_thirds_of_a_roll_owe_two_thirds_of_the_rate():
    assert owed(
        RATE, load=Fraction(2, 3), added_ml=Decimal(0), contents_ml=Decimal(0), full_ml=Decimal(1000)
    ).add_ml == Decimal("46.7")


def test_a_control_strip_is_due_weekly():
    assert replenishment.strip_due(RATE, date(2026, 2, 25)) == date(2026, 3, 4)


volumes = st.integers(0, 5000).map(Decimal)


@given(st.fractions(0, 50, max_denominator=36), volumes, volumes, volumes)
def test_pouring_then_adding_never_overfills_nor_empties_below_nothing(load, added, contents, full):
    asked = owed(RATE, load=load, added_ml=added, contents_ml=contents, full_ml=full)
    assert 0 <= asked.pour_ml <= contents
    assert asked.add_ml >= 0
    assert contents - asked.pour_ml + asked.add_ml <= max(full, asked.add_ml)
