"""Temperature coefficients and first-order contrast."""

from decimal import Decimal

import pytest

from chemistry.science import kinetics


def test_seven_tenths_of_the_time_for_four_degrees_is_a_q10_of_2_44():
    """Common practice for the 0.7; arithmetic exact."""
    assert abs(kinetics.q10_from_ratio(Decimal("0.7"), Decimal(4)) - Decimal("2.4392")) <= Decimal("0.001")


@pytest.mark.parametrize(("q10", "energy"), [("2.5", "65.45"), ("1.9", "45.8")])
def test_a_q10_is_an_activation_energy(q10, energy):
    """R ln(Q10) T1 T2/(T2 - T1) between 15 and 25 °C; arithmetic exact."""
    assert abs(kinetics.activation_energy(Decimal(q10)) - Decimal(energy)) <= Decimal("0.05")


def test_two_strips_give_rate_and_limit():
    """Gamma 0.50 at 6 min and 0.75 at 12 (first-order form, Sheppard and Mees, from memory)."""
    found = kinetics.rate_from_two_gammas(Decimal("0.50"), Decimal("0.75"), Decimal(6))
    assert abs(found.rate_per_min - Decimal("0.115525")) <= Decimal("0.00001")
    assert found.gamma_inf == 1


def test_a_wanted_contrast_gives_its_time():
    """Contrast 0.62 from the two strips: 8.3756 min."""
    found = kinetics.time_for_gamma(kinetics.Contrast(Decimal("0.115525"), Decimal(1)), Decimal("0.62"))
    assert abs(found - Decimal("8.3756")) <= Decimal("0.001")


def test_contrast_is_taken_as_a_share_of_the_limit():
    """Half of any limit takes ln 2 / k; arithmetic."""
    assert kinetics.time_for_gamma(kinetics.Contrast(Decimal("0.1"), Decimal(3)), Decimal("1.5")) == Decimal("6.9315")


def test_a_strip_at_no_time_gives_nothing():
    assert kinetics.rate_from_two_gammas(Decimal("0.5"), Decimal("0.75"), Decimal(0)).code == "strip.unusable"


@pytest.mark.parametrize(
    ("first", "second"), [("0.5", "0.5"), ("0.5", "1.0"), ("0.5", "0.4"), ("0", "0"), ("-0.5", "-0.4")]
)
def test_strips_that_do_not_level_off_give_nothing(first, second):
    assert kinetics.rate_from_two_gammas(Decimal(first), Decimal(second), Decimal(6)).code == "strip.unusable"


@pytest.mark.parametrize("target", ["1", "1.2", "0"])
def test_a_contrast_beyond_the_limit_cannot_be_reached(target):
    refusal = kinetics.time_for_gamma(kinetics.Contrast(Decimal("0.1"), Decimal(1)), Decimal(target))
    assert refusal.code == "contrast.out_of_reach"
    assert "below 1" in refusal.offers[0]
