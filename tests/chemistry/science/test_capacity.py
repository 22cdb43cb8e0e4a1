"""How many roll units a vessel may still do."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import capacity, film
from chemistry.science.dilution import parse
from chemistry.science.formula import Capacity, Material, Use
from tests.chemistry.science.trade_values import CASES, SCENARIOS

US_GAL_L = Decimal("3.785411784")  # NIST Handbook 44
# Common practice, no source: 4 rolls a litre of MQ-borax stock, up to 10 with the time compensated.
MQ_STOCK = Capacity(Material.FILM, Use.REUSE, "stock", Decimal(4), Decimal(10))
PLAIN = Capacity(Material.FILM, Use.REUSE, "stock", Decimal(4))
LITRE = Decimal(1000)

steps = st.integers(0, 40 * 3600).map(lambda count: Fraction(count, 3600))
some_steps = st.integers(1, 40 * 3600).map(lambda count: Fraction(count, 3600))
volumes = st.integers(0, 50_000).map(lambda tenths: Decimal(tenths) / 10)


def judge(before=0, new=1, *, held=0, figure=MQ_STOCK, basis=LITRE, compensate=False):
    return capacity.judge(Fraction(before), Fraction(held), Fraction(new), basis, figure, compensate=compensate)


@pytest.mark.parametrize(("compensate", "rolls"), [(False, 4), (True, 10)])
def test_a_litre_of_stock_does_its_rolls_and_the_next_is_refused(compensate, rolls):
    assert judge(rolls - 1, compensate=compensate).ok
    verdict = judge(rolls, compensate=compensate)
    assert not verdict.ok
    assert verdict.code == "capacity.exhausted"
    assert verdict.left == 0
    assert verdict.total == rolls


def test_six_rolls_of_twelve_frames_charge_two_and_thirds_never_drift():
    load = sum((film.load("135-12") for _ in range(12)), Fraction(0))
    assert load == 4
    assert judge(load - film.load("135-12"), film.load("135-12")).left == Fraction(1, 3)


def test_by_area_a_fourth_roll_would_fail_so_capacity_is_charged_in_roll_units():
    by_area = film.area("135-36", 4) / Decimal("516.128")
    assert by_area > 4
    assert judge(new=film.load("135-36", 4)).ok


def test_a_refusal_says_what_is_left_and_what_would_do():
    verdict = judge(Fraction(10, 3), 1)
    assert "0.66 of 4 roll units" in verdict.reason
    assert verdict.offers == (
        "at most 0.66 roll units here",
        "this load, with the time lengthened for reuse",
        "another vessel with capacity left",
    )


def test_what_is_left_is_rounded_down_and_a_load_up():
    verdict = judge(Fraction(10, 3), Fraction(2401, 3600))
    assert verdict.reason == "0.66 of 4 roll units are left here and this load is 0.67."


def test_compensation_is_not_offered_where_the_formula_has_none():
    assert judge(4, figure=PLAIN).offers == ("another vessel with capacity left",)
    assert not judge(4, figure=PLAIN, compensate=True).ok


def test_what_others_hold_is_not_there_to_take():
    """Two plans at once for 0.8 units, and for 1.5: the first case differs in that a *report* is never refused."""
    assert "never a negative balance" in SCENARIOS["s02"].expect
    assert not judge(Fraction("3.2"), 1).ok
    assert SCENARIOS["s03"].expect == "exactly one accepted"
    assert judge(Fraction("2.5"), 1).ok
    assert not judge(Fraction("2.5"), 1, held=1).ok


def test_an_overrun_that_was_reported_leaves_less_than_nothing():
    verdict = judge(5)
    assert verdict.left == -1
    assert verdict.reason.startswith("0 of 4")


def test_film_and_paper_ways_of_use_and_strengths_have_their_own_figures(starter):
    fixer = starter["rapid-fixer"]
    assert capacity.find(fixer, Material.FILM, Use.REUSE, "1+4").rolls_per_litre == 20
    assert capacity.find(fixer, Material.PAPER, Use.TRAY, parse("1+9")).rolls_per_litre == 9
    assert capacity.find(fixer, Material.FILM, Use.REUSE, "1+9") is None
    assert capacity.find(fixer, Material.FILM, Use.TRAY, "1+4") is None


def test_1_plus_1_is_never_reused_in_turn(starter):
    """Common practice, no source: two rolls a litre at once, and then it is poured away."""
    figure = capacity.find(starter["mq-borax"], Material.FILM, Use.REUSE, "1+1")
    assert figure is None
    verdict = judge(figure=figure)
    assert verdict.code == "capacity.not_promised"
    assert verdict.offers


def test_only_reuse_and_trays_are_counted_by_this_table():
    assert [use for use in Use if capacity.counted(use)] == [Use.REUSE, Use.TRAY]


def test_published_fixer_figures_convert_to_litres():
    prints, units = CASES["army_100_to_in2"], CASES["handbook_fixer_80_per_gal"]
    per_litre = prints.input["prints_8x10_per_us_gal"] / US_GAL_L
    assert prints.near("prints_per_litre", per_litre)
    area_in2 = per_litre * film.area("paper-8x10") / Decimal("6.4516")
    assert abs(area_in2 - prints.expected["in2_per_litre"]) < Decimal("0.1")  # expected was rounded to 0.1 in²
    assert units.near("per_litre", units.input["units_80in2_per_us_gal"] / US_GAL_L)


def test_the_starter_film_fixer_stays_within_the_published_figure(starter):
    most = CASES["handbook_fixer_80_per_gal"].expected["per_litre"]
    for code, dilution in (("plain-fixer", "stock"), ("rapid-fixer", "1+4")):
        assert capacity.find(starter[code], Material.FILM, Use.REUSE, dilution).rolls_per_litre <= most


@given(volumes, steps, steps, some_steps, st.booleans())
def test_a_plan_passes_exactly_while_the_sum_fits(basis, before, held, new, compensate):
    verdict = capacity.judge(before, held, new, basis, MQ_STOCK, compensate=compensate)
    most = Fraction(10 if compensate else 4) * Fraction(basis) / 1000
    assert verdict.total == most == capacity.total(MQ_STOCK, basis, compensate)
    assert verdict.left == most - before - held == capacity.left(MQ_STOCK, basis, before, held, compensate)
    assert verdict.ok is (before + held + new <= most)
    assert verdict.ok is not bool(verdict.reason)


@pytest.mark.parametrize(("before", "held", "new"), [(-1, 0, 1), (0, -1, 1), (0, 0, 0), (0, 0, -1)])
def test_impossible_loads_are_refused(before, held, new):
    with pytest.raises(ValueError, match="above zero"):
        judge(before, new, held=held)


@pytest.mark.parametrize("basis", ["-1", "NaN", "Infinity"])
def test_impossible_volumes_are_refused(basis):
    with pytest.raises(ValueError, match="millilitres"):
        judge(basis=Decimal(basis))
