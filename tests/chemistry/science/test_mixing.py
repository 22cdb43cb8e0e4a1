"""From packet to stock."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from chemistry.science import mixing
from chemistry.science.formula import Form, Ingredient, Keeping, Kind, Mixing, Process, Rules

MQ = Rules(  # MQ-borax fine grain, g/L from memory
    kind=Kind.DEVELOPER,
    process=Process.BW,
    form=Form.POWDER,
    composition=(
        Ingredient("metol", "55-55-0", Decimal(2)),
        Ingredient("sodium sulfite", "7757-83-7", Decimal(100)),
        Ingredient("hydroquinone", "123-31-9", Decimal(5)),
        Ingredient("borax", "1303-96-4", Decimal(2)),
    ),
    dilutions=("stock", "1+1", "1+3"),
    capacity=(),
    keeping=Keeping(6, 2, 14),
    mixing=Mixing(Decimal(50), Decimal(55), Decimal("0.75"), ("part A", "part B"), 24, Decimal(20), whole_packet=True),
)


def sheet(rules=MQ, hot=60, cold=10, **more):
    return mixing.sheet(rules, Decimal(3800), Decimal(hot), Decimal(cold), **more)


@pytest.mark.parametrize(("share", "offers"), [
    (Fraction(1, 2), ("mix 1 whole packet",)),
    (Decimal("1.5"), ("mix 1 whole packet", "mix 2 whole packets")),
    (Fraction(0), ("mix 1 whole packet",)),
    (Decimal(-1), ("mix 1 whole packet",)),
])  # fmt: skip
def test_part_of_a_packet_is_refused_with_whole_ones_offered(share, offers):
    """US Navy photography course, page 238: mix the entire package."""
    refusal = mixing.judge_packet(share, whole_packet=True)
    assert not refusal.ok
    assert refusal.offers == offers


def test_the_reason_is_segregation():
    assert "separate" in mixing.judge_packet(Fraction(1, 2), whole_packet=True).reason


@pytest.mark.parametrize("share", [Fraction(1), Decimal(3)])
def test_whole_packets_are_mixed(share):
    assert mixing.judge_packet(share, whole_packet=True).ok


def test_a_single_salt_may_be_weighed_out():
    assert mixing.judge_packet(Fraction(1, 2), whole_packet=False).ok


def test_chance_alone_would_halve_a_packet_within_one_per_cent():
    """Binomial: 2 g in 0.1 mg grains, so the refusal rests on segregation, not on chance."""
    assert abs(mixing.split_variation(Decimal(2), Decimal("0.1"), Decimal("0.5")) - Decimal("0.707")) <= Decimal("0.01")
    assert mixing.split_variation(Decimal(2), Decimal("0.1"), Decimal(1)) == 0


def test_a_sheet_starts_with_most_of_the_water_in_the_middle_of_the_window():
    found = sheet()
    assert (found.start_ml, found.window_c, found.rest_hours) == (2850, (50, 55), 24)
    assert dict(found.water.parts) == {"hot tap": Decimal("2422.5"), "cold tap": Decimal("427.5")}  # 52.5 °C
    assert found.steps[0] == "Pour 2850 mL of water at 50-55 °C."


def test_a_hot_tap_that_just_reaches_the_window_is_used_alone():
    assert sheet(hot=51).water.parts == (("hot tap", Decimal(2850)),)


def test_a_hot_tap_below_the_window_says_what_would_do():
    found = sheet(hot=45)
    assert not found.water.feasible
    assert "kettle" in found.water.offers[0]
    assert dict(sheet(hot=45, kettle=True).water.parts) == {"kettle": Decimal("388.6"), "hot tap": Decimal("2461.4")}


def test_water_that_only_comes_too_hot_is_cooled_with_ice():
    assert not sheet(hot=70, cold=60).water.feasible
    assert sheet(hot=70, cold=60, ice=True).water.feasible


def test_the_parts_go_in_one_after_the_other_and_the_mark_comes_cold():
    steps = sheet().steps
    assert [step for step in steps if "Add part" in step] == list(steps[1:3])
    assert "part A" in steps[1]
    assert "come to 20 °C" in steps[3]
    assert "3800 mL mark" in steps[3]
    assert "rest 24 hours" in steps[4]


def test_a_formula_without_rest_has_no_rest_step():
    rested = replace(MQ, mixing=replace(MQ.mixing, rest_hours=0))
    assert "rest" not in sheet(rested).steps[-1]


def test_the_mark_note_says_how_much_a_hot_mark_is_short():
    """50 °C against 20 °C: 1.0 %, 39 mL of 3.8 L."""
    note = sheet().to_the_mark
    assert "39 mL (1.0 %) short" in note
    assert "room" not in note
    assert "28 °C the mark is 0.2 % short" in sheet(room_c=Decimal(28)).to_the_mark


def test_a_formula_mixed_cold_is_not_warned_of_a_hot_mark():
    cold = replace(MQ, mixing=replace(MQ.mixing, start_low_c=Decimal(18), start_high_c=Decimal(24)))
    assert sheet(cold).to_the_mark == "Water TO 3800 mL, not 3800 mL of water."


def test_it_is_never_closed_hot():
    assert sheet().closing.startswith("Never close the bottle on hot liquid")


def test_the_sheet_carries_the_powder_cautions():
    hazards = " ".join(caution.hazard for caution in sheet().cautions)
    assert "Dust" in hazards
    assert "metol, hydroquinone" in hazards


def test_the_usual_stock_raises_no_warning():
    assert sheet().warnings == ()


def test_hypo_warns_that_it_cools_its_water():
    """240 g/L of crystals, 10 degrees in a litre and more in less water (from memory)."""
    fixer = replace(MQ, kind=Kind.FIXER, composition=(Ingredient("hypo crystals", "10102-17-7", Decimal(240)),))
    assert sheet(fixer).warnings == ("hypo crystals cools the water by about 13 °C.",)


def test_more_sulfite_than_the_start_water_takes_is_warned_of():
    strong = replace(MQ, composition=(Ingredient("sodium sulfite", "7757-83-7", Decimal(300)),))
    (warning,) = sheet(strong).warnings
    assert "do not dissolve" in warning
    assert "Hotter water takes less of it" in warning


def test_a_liquid_has_no_mixing_sheet():
    refusal = sheet(replace(MQ, form=Form.LIQUID, mixing=None))
    assert (refusal.ok, refusal.code) == (False, "formula.not_mixed")
