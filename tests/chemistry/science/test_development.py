"""Development time, factor by factor."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import development, water
from chemistry.science.formula import ReuseTime, Temperature, TimeRule
from chemistry.science.verdict import Verdict

LINEAR = ReuseTime("linear", Decimal("0.10"))
COMPOUND = ReuseTime("compound", Decimal("0.10"))
STEPS = ReuseTime("table", table=((Decimal(2), Decimal("1.15")), (Decimal(4), Decimal("1.30"))))
WINDOW = Temperature(Decimal(10), Decimal("2.5"), Decimal(20), Decimal(16), Decimal(27))
MQ = TimeRule(
    reuse=LINEAR,
    crowding={"1+1": {2: Decimal("1.10"), 4: Decimal("1.20")}},
    temperature=WINDOW,
    agitation={"constant": Decimal("0.85")},
    push={"1": Decimal("1.30")},
)


def time(rule=MQ, **changed):
    given = {
        "base_min": Decimal(10),
        "load_before": Fraction(0),
        "basis_ml": Decimal(1000),
        "rolls_in_tank": Fraction(1),
        "dilution": "stock",
        "temperature_c": Decimal(20),
        "compensate": True,
    }
    return development.time(rule, **(given | changed))


@pytest.mark.parametrize(
    ("roll", "linear", "compound"),
    [(1, "10.0", "10.0"), (2, "11.0", "11.0"), (10, "19.0", "23.579")],  # common practice; arithmetic exact
)
def test_ten_per_cent_a_roll_reads_two_ways_and_the_formula_says_which(roll, linear, compound):
    before = Fraction(roll - 1)
    assert abs(time(replace(MQ, reuse=LINEAR), load_before=before).minutes - Decimal(linear)) <= Decimal("0.001")
    assert abs(time(replace(MQ, reuse=COMPOUND), load_before=before).minutes - Decimal(compound)) <= Decimal("0.001")


def test_compensation_counts_rolls_per_litre_of_the_filling():
    """Three rolls on 0.6 L are five per litre (common practice)."""
    assert time(load_before=Fraction(3), basis_ml=Decimal(600)).minutes == 15


@pytest.mark.parametrize(
    ("before", "factor"), [(Fraction(0), "1"), (Fraction(39, 20), "1"), (Fraction(2), "1.15"), (Fraction(9), "1.30")]
)
def test_a_table_gives_the_factor_of_the_last_row_reached(before, factor):
    assert development.reuse_factor(STEPS, before, Decimal(1000)) == Decimal(factor)


def test_a_shape_nobody_knows_is_an_error():
    with pytest.raises(ValueError, match="linear, compound, table"):
        development.reuse_factor(ReuseTime("cubic"), Fraction(1), Decimal(1000))


def test_rolls_in_one_tank_share_one_factor():
    one, two = time(load_before=Fraction(3)), time(load_before=Fraction(3), rolls_in_tank=Fraction(2))
    assert one.minutes == two.minutes == 13


def test_without_compensation_the_load_changes_nothing():
    assert time(load_before=Fraction(3), compensate=False).minutes == 10
    assert time(TimeRule(), load_before=Fraction(3), compensate=False).minutes == 10


def test_two_rolls_in_a_tank_at_one_plus_one_take_ten_per_cent_more():
    """Common practice, disputed."""
    assert time(dilution="1+1", rolls_in_tank=Fraction(2)).minutes == 11
    assert time(dilution="1+1").minutes == 10
    assert time(dilution="stock", rolls_in_tank=Fraction(2)).minutes == 10


def test_part_of_a_roll_crowds_like_a_roll():
    assert time(dilution="1+1", rolls_in_tank=Fraction(4, 3)).minutes == 11


def test_more_rolls_than_the_crowding_table_knows_keep_its_last_factor_and_warn():
    crowded = time(dilution="1+1", rolls_in_tank=Fraction(5))
    assert crowded.minutes == 12
    assert "5 rolls" in crowded.warnings[0]
    assert "the one for 4" in crowded.warnings[0]
    assert time(dilution="1+1", rolls_in_tank=Fraction(4)).warnings == ()


def test_between_two_rows_the_lower_crowding_row_holds():
    assert time(dilution="1+1", rolls_in_tank=Fraction(3)).minutes == 11


@pytest.mark.parametrize(("q10", "minutes"), [("1.3", "9.004"), ("1.9", "7.736"), ("2.8", "6.624")])
def test_four_degrees_warmer_shortens_by_the_coefficient(q10, minutes):
    """10 min at 20 °C; from the definition of Q10, values from memory."""
    rule = replace(MQ, temperature=replace(WINDOW, coefficient=Decimal(q10)))
    assert abs(time(rule, temperature_c=Decimal(24)).minutes - Decimal(minutes)) <= Decimal("0.001")


def test_a_coefficient_for_seven_degrees_is_not_one_for_ten():
    """k7 = Q10^0.7 (Ives 1920 defines it over 7 °C): 2.5 per 10 is 1.8993 per 7."""
    seven = replace(WINDOW, per_degrees=Decimal(7), coefficient=Decimal("1.8993"))
    assert development.temperature_factor(seven, Decimal(24)) == development.temperature_factor(WINDOW, Decimal(24))
    assert development.temperature_factor(replace(seven, per_degrees=Decimal(10)), Decimal(24)) != Decimal("0.6931")


@pytest.mark.parametrize("celsius", ["15.9", "27.1"])
def test_outside_the_window_there_is_no_time_but_an_offer(celsius):
    """16-27 °C for MQ: common practice."""
    refusal = time(temperature_c=Decimal(celsius))
    assert not refusal.ok
    assert refusal.code == "temperature.outside"
    assert "16-27 °C" in refusal.offers[0]


@pytest.mark.parametrize("celsius", ["16", "27"])
def test_the_edges_of_the_window_are_inside(celsius):
    assert time(temperature_c=Decimal(celsius)).minutes > 0


def test_a_cold_tap_of_25_for_20_degrees_is_worked_at_25_or_cooled():
    """Scenario s17: no blend, so the time at 25 °C or ice is offered."""
    blend = water.blend(Decimal(1000), Decimal(20), Decimal(40), Decimal(25))
    assert not blend.feasible
    assert any("ice" in offer for offer in blend.offers)
    assert any("25 °C" in offer for offer in blend.offers)
    assert time(temperature_c=Decimal(25)).minutes == Decimal("6.325")  # 10 x 2.5^-0.5


def test_agitation_and_push_come_from_the_formulas_own_tables():
    assert time(agitation="constant", push="1").minutes == Decimal("11.05")


@pytest.mark.parametrize(("choice", "offered"), [({"agitation": "none"}, "constant"), ({"push": "4"}, "1")])
def test_an_unknown_agitation_or_push_is_refused_with_the_known_ones(choice, offered):
    assert time(**choice).offers == (offered,)


def test_a_formula_without_push_says_so():
    assert "one way only" in time(TimeRule(), push="1", compensate=False).offers[0]


def test_under_five_minutes_the_warning_names_the_hazard_and_what_to_do():
    """5 min: common practice."""
    assert time(base_min=Decimal(5)).warnings == ()
    (warning,) = time(base_min=Decimal("4.99")).warnings
    assert "unevenly" in warning
    assert "weaker dilution" in warning


def test_a_formula_without_reuse_times_refuses_to_compensate():
    refusal = time(TimeRule())
    assert (refusal.ok, refusal.code) == (False, "time.no_reuse_rule")
    assert refusal.offers


def test_a_formula_without_temperatures_keeps_the_base_time_and_says_so():
    plain = time(TimeRule(), compensate=False, temperature_c=Decimal(35))
    assert plain.minutes == 10
    assert "only at the temperature" in plain.factors[2].why


@pytest.mark.parametrize("base", ["0", "-1", "NaN", "Infinity"])
def test_a_base_time_that_is_no_time_is_refused(base):
    assert time(base_min=Decimal(base)).code == "time.not_positive"


def test_an_unknown_filling_is_refused_not_divided_by():
    assert time(basis_ml=Decimal(0)).code == "vessel.basis_unknown"
    assert time(load_before=Fraction(-1)).code == "vessel.basis_unknown"


@pytest.mark.parametrize("reuse", [LINEAR, COMPOUND, ReuseTime("compound", Decimal(1))])
def test_a_bath_worn_beyond_any_time_is_refused_whatever_the_figures(reuse):
    worn = time(replace(MQ, reuse=reuse), load_before=Fraction(1000), basis_ml=Decimal(1))
    assert worn.code == "vessel.worn_out"
    assert worn.offers


def test_every_factor_is_shown_in_order_with_its_fact():
    shown = time(load_before=Fraction(5, 2), basis_ml=Decimal(500)).factors
    assert [factor.name for factor in shown] == ["reuse", "crowding", "temperature", "agitation", "push"]
    assert shown[0].why == "2.5 rolls on 0.5 L before this tank, linear rule"


def test_a_late_entry_lengthens_the_time_of_what_followed():
    """Scenario s11: one more roll before, typed in afterwards, recomputes 12 min to 13."""
    assert (time(load_before=Fraction(2)).minutes, time(load_before=Fraction(3)).minutes) == (12, 13)


loads = st.fractions(min_value=0, max_value=40, max_denominator=3600)


@given(st.sampled_from([LINEAR, COMPOUND, STEPS]), loads, loads, st.integers(1, 20000))
def test_time_never_falls_with_load(reuse, one, other, basis):
    less, more = sorted((one, other))
    rule = replace(MQ, reuse=reuse)
    before, after = (time(rule, load_before=load, basis_ml=Decimal(basis)) for load in (less, more))
    if isinstance(before, Verdict):
        assert isinstance(after, Verdict)
    else:
        assert isinstance(after, Verdict) or before.minutes <= after.minutes


@given(st.decimals(16, 27, places=1), st.decimals(16, 27, places=1))
def test_warmer_is_never_slower(one, other):
    cold, warm = sorted((one, other))
    assert time(temperature_c=warm).minutes <= time(temperature_c=cold).minutes


@given(st.decimals("0.25", 60, places=2), loads, st.decimals(16, 27, places=1))
def test_the_minutes_are_the_product_of_what_is_shown(base, load, celsius):
    answer = time(base_min=base, load_before=load, temperature_c=celsius)
    assert abs(answer.minutes - base * prod(factor.value for factor in answer.factors)) <= Decimal("0.0005")
