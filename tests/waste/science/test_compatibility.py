"""Which kinds of waste may meet. The sources stand in the name of each case."""

from itertools import product

import pytest

from tests.waste import cases
from waste.science import compatibility as rules
from waste.science.compatibility import Grade, Verdict, judge
from waste.science.stream import UNIDENTIFIED

NAMES = {"stabiliser_formaldehyde": "stabiliser"}
KINDS = sorted(rules.kinds())


def kind(name):
    return NAMES.get(name, name.replace("_", "-"))


@cases.of("stream_pair")
def test_a_pair_is_judged_as_told_with_its_effect_and_the_codes_of_the_chart_and_the_same_both_ways(case):
    one, other, expected = kind(case["input"]["a"]), kind(case["input"]["b"]), case["expected"]
    for found in (judge(one, other), judge(other, one)):
        assert found.grade == expected["verdict"].lower()
        assert set(found.codes) == set(expected["chart_codes"])
        assert (found.effect or "-") == expected["effect"]
        assert found.status == rules.FROM_MEMORY  # the verdict is judgement, the cells say for themselves


@cases.of("epa_chart")
def test_a_cell_of_the_group_chart_has_its_codes_and_says_whether_it_was_read(case):
    found = rules.cell(*case["input"]["groups"])
    assert set(found.codes) == set(case["expected"])
    assert (found.status == rules.READ) == (case["status"] == "READ")


@pytest.mark.parametrize(("one", "other"), list(product(KINDS, KINDS)))
def test_every_pair_is_the_same_both_ways_and_never_passes_on_a_blank_alone(one, other):
    found = judge(one, other)
    assert (found.grade, found.codes) == (judge(other, one).grade, judge(other, one).codes)
    named = frozenset((one, other)) in {frozenset(row["kinds"]) for row in rules._data()["pairs"]}
    if found.verdict is Verdict.MEET:
        assert named or one == other  # somebody wrote down that they may; the chart alone never says so
    if found.verdict is Verdict.NEVER:
        assert found.reaction
        assert found.words
    assert found.source


# Rule of thumb, chemist's judgement from memory: hypochlorite meets nothing but water.
@pytest.mark.parametrize("other", [each for each in KINDS if each not in {"hypochlorite", "wash-water", "final-rinse"}])
def test_hypochlorite_meets_nothing_but_water(other):
    assert judge("hypochlorite", other).verdict is Verdict.NEVER


# General chemistry, from memory: the gas that forms. The chart has no class for any of these.
@pytest.mark.parametrize(
    ("one", "other", "gas"),
    [
        ("bw-developer", "stop-bath", "sulfur dioxide"),
        ("fixer", "stop-bath", "sulfur dioxide"),
        ("sulfide-toner", "stop-bath", "hydrogen sulfide"),
        ("hypochlorite", "stop-bath", "chlorine"),
        ("hypochlorite", "fixer", "chloramines"),
        ("ferricyanide-bleach", "dichromate-bleach", "hydrogen cyanide"),
        ("colour-developer", "fixer", "ammonia"),
        ("rinse", "stop-bath", "sulfur dioxide"),
    ],
)
def test_the_gas_is_named_and_the_pour_forbidden(one, other, gas):
    found = judge(one, other)
    assert gas in found.reaction
    assert found.verdict is Verdict.NEVER


def test_without_a_named_reaction_the_chart_decides_and_its_source_is_given():
    found = judge("oxidising-acid", "stabiliser")  # EPA-600/2-80-076, cell 2x5: heat and fire, read
    assert (found.grade, found.codes, found.status) == (Grade.NEVER, ("H", "F"), rules.READ)
    assert "EPA-600/2-80-076" in found.source
    heat = judge("mineral-acid", "wash-water")  # cell 1x106: heat, read; a concentrate meets water
    assert (heat.grade, heat.codes) == (Grade.CAUTION, ("H",))


def test_a_blank_cell_asks_first():
    found = judge("strong-alkali", "bw-developer")
    assert rules.cell(10, 105) is None
    assert found.verdict is Verdict.CAUTION
    assert "does not make it safe" in found.words


def test_the_same_kind_meets_itself_but_unknown_liquids_and_old_powders_do_not_simply():
    assert judge("fixer", "fixer").verdict is Verdict.MEET
    assert judge(UNIDENTIFIED, UNIDENTIFIED).verdict is Verdict.NEVER
    assert judge("discarded-powders", "discarded-powders").verdict is Verdict.CAUTION


def test_a_kind_nobody_knows_is_no_yes():
    found = judge("own-brew", "fixer")
    assert (found.verdict, found.known) == (Verdict.NEVER, False)
    assert judge("own-brew", "own-brew").verdict is Verdict.MEET


def test_a_container_that_never_held_anything_takes_what_comes():
    assert judge("fixer", None).verdict is Verdict.MEET


def test_the_worst_of_what_a_container_held_counts():
    assert rules.worst("stop-bath", ["wash-water", "sulfide-toner", "bw-developer"]).held == "sulfide-toner"
    assert rules.worst("stop-bath", []).verdict is Verdict.MEET
    assert "leave the room" in rules.worst("stop-bath", ["hypochlorite"]).says


def test_the_first_rinse_may_join_the_fixer_it_came_from_after_a_word():
    # Common practice, no source. A plain wash stays apart, since it only spreads the silver.
    found = judge("rinse", "fixer")
    assert (found.verdict, judge("wash-water", "fixer").verdict) == ("caution", "never")
