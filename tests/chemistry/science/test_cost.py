"""What a roll costs, in minor units."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import cost
from chemistry.science.cost import Rate, share_out


def test_the_smaller_packet_may_be_the_cheaper_litre():
    """3.8 L at 12 against 5 L at 20: about 21 % cheaper; arithmetic."""
    small, large = cost.per_litre(1200, Decimal(3800)), cost.per_litre(2000, Decimal(5000))
    assert (round(small), large) == (316, 400)
    assert cost.cheaper_percent(small, large) == Decimal("21.1")
    assert cost.cheaper_percent(large, small) < 0


def test_one_shot_costs_more_than_reuse():
    """250 mL of stock poured away against ten rolls a litre."""
    assert cost.one_shot_per_roll(2000, Decimal(5000), Decimal(250)) == 100
    assert cost.reuse_per_roll(2000, Decimal(5000), Decimal(10)) == 40


@pytest.mark.parametrize(
    ("rate", "minor"),
    [(Rate("roll", Fraction(40)), 27), (Rate("ml", Fraction(2, 5)), 47), (Rate("ml", Fraction(1, 10)), 12)],
)
def test_a_member_is_charged_by_load_or_by_volume(rate, minor):
    assert cost.charge(rate, Fraction(2, 3), Decimal("117.5")) == minor


def test_half_a_unit_goes_to_the_even_one():
    assert [cost.charge(Rate("ml", Fraction(1)), Fraction(0), Decimal(ml)) for ml in ("0.5", "1.5", "2.5")] == [0, 2, 2]


@pytest.mark.parametrize(
    ("total", "weights", "shares"),
    [
        (100, [1, 1, 1], [34, 33, 33]),
        (-100, [1, 1, 1], [-34, -33, -33]),
        (10, [0, 3, 1], [0, 8, 2]),
        (7, [2, 3], [3, 4]),
        (0, [5, 5], [0, 0]),
    ],
)
def test_the_largest_remainders_get_the_odd_units(total, weights, shares):
    """Worked by hand; ties go to the earlier, so 10 by 3:1 is 7.5 and 2.5: 8 and 2."""
    assert share_out(total, weights) == shares


@pytest.mark.parametrize("weights", [[], [0, 0], [2, -1]])
def test_weights_that_share_nothing_are_an_error(weights):
    with pytest.raises(ValueError, match="weights of 0 or more"):
        share_out(10, weights)


@given(st.integers(-(10**9), 10**9), st.lists(st.integers(0, 10**6), min_size=1, max_size=30).filter(any))
def test_shares_add_up_exactly_and_stay_within_one_unit(total, weights):
    shares = share_out(total, weights)
    assert sum(shares) == total
    exact = [Fraction(total * weight, sum(weights)) for weight in weights]
    assert all(abs(share - part) < 1 for share, part in zip(shares, exact, strict=True))


# ISO 4217, from memory: the yen has no smaller unit, the Kuwaiti dinar has thousandths, most have hundredths.
@pytest.mark.parametrize(("currency", "text"), [("EUR", "12.05"), ("JPY", "1205"), ("KWD", "1.205")])
def test_minor_units_are_read_with_the_places_of_their_currency(currency, text):
    assert cost.major(1205, currency) == text
    assert cost.major(5, "EUR") == "0.05"
