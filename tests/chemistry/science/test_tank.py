"""What a tank asks of each bath, and every no of the rules to it."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import load
from chemistry.science.development import Time
from chemistry.science.dilution import parse
from chemistry.science.formula import Material, Process, Use
from chemistry.science.plan import advise, judge, judge_handling
from chemistry.science.tank import Bath, Conditions, Tank, carried, need, spent_ml, to_ten
from chemistry.science.verdict import Verdict

ONE = Tank(
    Decimal(500), Fraction(1), Material.FILM, (Process.BW,), Use.FRESH, parse("1+1"), Decimal(5)
)  # fmt: skip


@pytest.fixture(scope="session")
def stock(starter):
    """A litre of fresh MQ-borax stock."""
    return Bath(starter["mq-borax"], "stock", None, None, Decimal(1000), Decimal(1000), Fraction(0))


@pytest.fixture(scope="session")
def concentrate(starter):
    """A litre of stop bath concentrate."""
    return Bath(starter["stop-acetic"], "stock", None, None, Decimal(1000), Decimal(1000), Fraction(0))


def codes(tank, bath, role="developer"):
    return [verdict.code for verdict in judge(role, tank, bath)]


def test_a_one_shot_tank_draws_its_stock_and_gives_nothing_back(stock):
    asked = need("developer", ONE, stock)
    assert (asked.drawn_ml, asked.water_ml, asked.load, asked.comes_back) == (250, 250, 0, False)
    assert asked.leaves_ml == 250


def test_a_reused_tank_is_filled_from_the_vessel_and_loses_what_clings(stock):
    tank = replace(ONE, use=Use.REUSE, dilution=parse("stock"))
    asked = need("developer", tank, stock)
    assert (asked.drawn_ml, asked.water_ml, asked.load, asked.leaves_ml) == (500, 0, 1, 5)


def test_a_working_bath_is_drawn_as_it_stands(stock):
    asked = need("developer", ONE, replace(stock, dilution="1+1"))
    assert (asked.drawn_ml, asked.water_ml) == (500, 0)


def test_a_concentrate_is_made_up_for_one_tank(concentrate):
    asked = need("stop", ONE, concentrate)
    assert (asked.use, str(asked.dilution)) == (Use.FRESH, "1+20")
    assert (asked.drawn_ml, asked.water_ml) == (Decimal("23.8"), Decimal("476.2"))  # 500/21 mL


@given(st.integers(1, 100_000), st.integers(1, 100_000))
def test_no_more_clings_than_was_in_the_tank(tenths, units):
    tank = Decimal(tenths).scaleb(-1)
    assert 0 <= carried(Decimal(5), Fraction(units, 3600), tank) <= tank


@pytest.mark.parametrize(("size", "dilution"), [("473", "1+1"), ("235", "stock"), ("940", "1+3")])
def test_a_tank_with_enough_stock_passes(stock, size, dilution):
    # Common practice, no source: 235 mL of stock for each roll.
    assert codes(replace(ONE, volume_ml=Decimal(size), dilution=parse(dilution)), stock) == []


@pytest.mark.parametrize("size", ["80", "100"])
@pytest.mark.parametrize("dilution", ["stock", "1+1", "1+3"])
def test_a_small_rotary_tank_never_does(stock, size, dilution):
    tank = replace(ONE, volume_ml=Decimal(size), dilution=parse(dilution))
    assert codes(tank, stock) == ["tank.short_of_stock"]


def test_what_plans_have_kept_is_not_there_to_be_poured(stock):
    assert codes(ONE, replace(stock, held_ml=Decimal(750))) == []
    assert codes(ONE, replace(stock, held_ml=Decimal("750.1"))) == ["vessel.short"]


@given(st.integers(0, 12 * 3600), st.integers(0, 12 * 3600))
def test_load_and_holds_count_alike(starter, done, held):
    tank = replace(ONE, use=Use.REUSE, dilution=parse("stock"))
    bath = Bath(
        starter["mq-borax"], "stock", Use.REUSE, Material.FILM, Decimal(1000), Decimal(1000), Fraction(done, 3600),
        held_load=Fraction(held, 3600),
    )  # fmt: skip
    assert ("capacity.exhausted" in codes(tank, bath)) is (done + held > 3 * 3600)


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"use": Use.REUSE}, "vessel.used"),
        ({"material": Material.PAPER}, "vessel.other_material"),
    ],
)
def test_a_vessel_used_otherwise_is_refused(stock, changes, code):
    assert codes(ONE, replace(stock, **changes)) == [code]


def test_an_unknown_dilution_offers_those_of_the_formula(stock):
    (verdict,) = judge("developer", replace(ONE, dilution=parse("1+2"), volume_ml=Decimal(900)), stock)
    assert (verdict.code, verdict.offers) == ("dilution.not_offered", ("stock", "1+1", "1+3"))


def test_a_wrong_kind_of_bath_is_the_gravest(stock):
    assert codes(ONE, stock, "fixer_1")[0] == "step.other_kind"


def test_only_a_minor_keeps_off_concentrates(stock, concentrate):
    # Pupils use ready-made working solutions: common practice, no source.
    assert judge_handling(concentrate, minor=False).ok
    assert judge_handling(stock, minor=True).ok
    assert judge_handling(replace(concentrate, dilution="1+20"), minor=True).ok
    assert judge_handling(concentrate, minor=True).code == "minor.concentrate"


def test_one_shot_costs_its_stock_reuse_a_part_of_a_litre(stock):
    reuse = replace(ONE, use=Use.REUSE, dilution=parse("stock"))
    # 4 rolls a litre, 10 with compensation: common practice, no source.
    assert spent_ml(stock, need("developer", ONE, stock)) == 250
    assert spent_ml(stock, need("developer", reuse, stock)) == 250
    assert spent_ml(stock, need("developer", reuse, stock), compensate=True) == 100
    replenished = replace(reuse, use=Use.REPLENISHED)
    assert spent_ml(stock, need("developer", replenished, stock)) == 70


def test_all_rolls_of_one_tank_share_the_time_from_before_it(stock):
    # reuse_scaled_volume: 3 rolls before on 0.6 L, +10 % each: 15 min from 10; common practice.
    bath = replace(stock, basis_ml=Decimal(600), load=Fraction(3), use=Use.REUSE)
    tank = replace(ONE, load=Fraction(2), use=Use.REUSE, dilution=parse("stock"), compensate=True)
    found = advise(tank, bath, Conditions(base_min=Decimal(10)))
    assert isinstance(found, Time)
    assert found.minutes == 15


def test_a_one_shot_tank_starts_from_nothing_whatever_is_asked(stock):
    found = advise(replace(ONE, compensate=True), stock, Conditions(base_min=Decimal(10)))
    assert isinstance(found, Time)
    assert found.minutes == 10


def test_outside_its_window_no_time_is_given(stock):
    assert isinstance(advise(ONE, stock, Conditions(temperature_c=Decimal(28))), Verdict)


@pytest.mark.parametrize(("ml", "shown"), [("236.5", 240), ("234.9", 230), ("235", 240), ("0", 0)])
def test_the_bench_measures_to_ten(ml, shown):
    assert to_ten(Decimal(ml)) == shown


@pytest.mark.parametrize(("count", "text"), [(2400, "0.6667"), (3600, "1.0000"), (0, "0.0000"), (-1, "-0.0003")])
def test_loads_are_shown_with_four_decimals(count, text):
    assert load.text(count) == text
