"""Stock per roll: the check a naive dilution calculator passes over."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import stock
from chemistry.science.dilution import parse
from tests.chemistry.science.trade_values import CASES, SCENARIOS

MQ_BORAX = Decimal(235)  # mL of stock for each roll: common practice, no source
ROOM_TANKS = tuple(map(Decimal, (100, 300, 400, 473, 946, 2000)))
ROOM_DILUTIONS = tuple(map(parse, ("stock", "1+1", "1+2", "1+3")))
ROLL = Fraction(1)

tanks = st.integers(500, 50_000).map(lambda tenths: Decimal(tenths) / 10)
minimums = st.integers(50, 300).map(Decimal)
loads = st.integers(1, 20 * 3600).map(lambda steps: Fraction(steps, 3600))
dilutions = st.sampled_from(ROOM_DILUTIONS)


def judge(tank_ml, dilution, load=ROLL, minimum=MQ_BORAX, room=ROOM_TANKS, strengths=ROOM_DILUTIONS):
    return stock.judge(Decimal(tank_ml), parse(dilution), Fraction(load), minimum, tanks=room, dilutions=strengths)


def test_a_300_ml_tank_at_1_plus_3_holds_too_little_for_a_roll():
    case = CASES["min_stock_fail"]
    given_ = case.input
    verdict = judge(
        given_["tank_ml"], f"1+{given_['dilution_n']}", given_["rolls"], Decimal(given_["min_stock_ml_per_roll"])
    )
    assert verdict.ok is case.expected["ok"]
    assert verdict.stock_ml == case.expected["stock_ml"]
    assert verdict.tank_needed_ml == case.expected["tank_ml_needed"]


def test_its_refusal_suggests_the_400_ml_tank_or_1_plus_2():
    assert SCENARIOS["s04"].expect == "refused; suggests 400 mL tank or 1+2"
    verdict = judge(300, "1+3", minimum=Decimal(100))
    assert verdict.offers == (
        stock.Offer(Decimal(400), parse("1+3")),
        stock.Offer(Decimal(300), parse("1+2")),
    )
    assert verdict.code == "tank.short_of_stock"
    assert [str(each) for each in verdict.offers] == ["400 mL at 1+3", "300 mL at 1+2"]


# Common practice, no source: four rolls a litre of stock, two of 1+1, one of 1+3, and the next is refused.
@pytest.mark.parametrize(("dilution", "rolls"), [("stock", 4), ("1+1", 2), ("1+3", 1)])
def test_a_litre_takes_its_rolls_and_the_next_is_refused(dilution, rolls):
    assert judge(1000, dilution, rolls).ok
    assert not judge(1000, dilution, rolls + 1).ok
    assert stock.rolls_allowed(Decimal(1000), parse(dilution), MQ_BORAX) == rolls


@pytest.mark.parametrize(("tank", "rolls"), [(473, 1), (946, 2)])
def test_a_pint_and_a_quart_tank_at_1_plus_1_pass(tank, rolls):
    assert judge(tank, "1+1", rolls).ok
    assert not judge(tank, "1+1", rolls + 1).ok


@pytest.mark.parametrize("dilution", ["stock", "1+1", "1+3"])
@pytest.mark.parametrize("tank", [80, 100])
def test_a_rotary_tank_is_refused_whatever_the_dilution(tank, dilution):
    verdict = judge(tank, dilution)
    assert not verdict.ok
    assert verdict.needed_ml == 235
    assert verdict.offers


def test_a_tank_mark_may_be_one_percent_low_and_no_more():
    assert judge("232.7", "stock").ok
    assert not judge("232.6", "stock").ok


def test_a_refusal_without_a_tank_in_the_room_names_the_volume():
    verdict = judge(300, "1+3", room=(), strengths=())
    assert [str(each) for each in verdict.offers] == ["940 mL at 1+3"]


def test_when_neither_tank_nor_dilution_alone_would_do_both_change():
    verdict = judge(100, "1+3", room=(Decimal(100), Decimal(300), Decimal(473)), strengths=ROOM_DILUTIONS)
    assert verdict.offers == (stock.Offer(Decimal(300), parse("stock")),)
    verdict = judge(50, "1+3", minimum=Decimal(100), room=(Decimal(50), Decimal(300), Decimal(350)))
    assert verdict.offers == (stock.Offer(Decimal(300), parse("1+2")),)


def test_in_a_room_with_one_tank_only_the_dilution_changes():
    verdict = judge(300, "1+3", minimum=Decimal(100), room=(Decimal(300),))
    assert verdict.offers == (stock.Offer(Decimal(300), parse("1+2")),)


def test_a_part_roll_needs_its_part_of_stock():
    assert judge(160, "stock", Fraction(24, 36)).ok
    assert judge(160, "stock", Fraction(24, 36)).needed_ml == Decimal("156.7")
    assert stock.needed_ml(Fraction(24, 36), MQ_BORAX) == Decimal("156.7")


def test_a_formula_without_a_minimum_always_passes():
    assert judge(50, "1+9", 10, None).ok


@given(tanks, dilutions, loads, minimums, st.lists(tanks, max_size=6), st.lists(dilutions, max_size=4))
def test_every_offer_would_pass_and_none_is_what_was_refused(tank, dilution, load, minimum, room, strengths):
    verdict = stock.judge(tank, dilution, load, minimum, tanks=room, dilutions=strengths)
    assert bool(verdict.offers) <= (not verdict.ok)
    for offer in verdict.offers:
        assert stock.judge(offer.tank_ml, offer.dilution, load, minimum).ok
        assert (offer.tank_ml, offer.dilution) != (tank, dilution)


@given(tanks, dilutions, loads, minimums, st.lists(tanks, min_size=1), st.lists(dilutions, min_size=1))
def test_if_anything_in_the_room_would_do_it_is_offered(tank, dilution, load, minimum, room, strengths):
    verdict = stock.judge(tank, dilution, load, minimum, tanks=room, dilutions=strengths)
    possible = any(stock.judge(each, other, load, minimum).ok for each in room for other in strengths)
    assert verdict.ok or verdict.offers or not possible


@given(tanks, dilutions, loads, minimums)
def test_the_tank_it_names_is_enough_and_a_smaller_load_never_needs_more(tank, dilution, load, minimum):
    verdict = stock.judge(tank, dilution, load, minimum)
    assert stock.judge(verdict.tank_needed_ml, dilution, load, minimum).ok
    assert stock.judge(tank, dilution, load / 2, minimum).needed_ml <= verdict.needed_ml


@given(tanks, dilutions, minimums)
def test_rolls_allowed_agrees_with_the_judgement(tank, dilution, minimum):
    rolls = stock.rolls_allowed(tank, dilution, minimum)
    assert rolls == 0 or stock.judge(tank, dilution, Fraction(rolls), minimum).ok
    assert not stock.judge(tank, dilution, Fraction(rolls + 1), minimum).ok


@pytest.mark.parametrize(
    ("tank", "load", "minimum"),
    [("0", 1, "235"), ("-1", 1, "235"), ("NaN", 1, "235"), ("300", 0, "235"), ("300", 1, "0")],
)
def test_impossible_figures_are_refused(tank, load, minimum):
    with pytest.raises(ValueError, match="above zero"):
        judge(tank, "1+1", load, Decimal(minimum))
