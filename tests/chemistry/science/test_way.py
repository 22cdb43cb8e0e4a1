"""A vessel's way of use is fixed by its first use."""

from dataclasses import replace
from itertools import product

import pytest

from chemistry.science import way
from chemistry.science.formula import Material, Process, Use
from tests.chemistry.science.trade_values import SCENARIOS

# Common practice, no source, unless a test names another.
FRESH = way.Liquid("mq-borax", "stock")
ONE_SHOT = replace(FRESH, use=Use.FRESH, material=Material.FILM)
REUSED = replace(FRESH, use=Use.REUSE, material=Material.FILM, used=True)
PART_A = replace(REUSED, formula="two-bath-a")
PART_B = replace(REUSED, formula="two-bath-b", never_poured_back=True)
FILM_FIXER = replace(REUSED, formula="rapid-fixer", dilution="1+4")
PAPER_FIXER = replace(FILM_FIXER, material=Material.PAPER)


def test_the_first_draw_may_be_any():
    assert all(way.judge_draw(None, asked).ok for asked in Use)


@pytest.mark.parametrize(("now", "asked"), list(product(Use, Use)))
def test_after_the_first_use_only_the_same_way_is_allowed(now, asked):
    verdict = way.judge_draw(now, asked)
    assert verdict.ok is (now is asked)
    assert verdict.ok or verdict.offers


@pytest.mark.parametrize("used", [Use.REUSE, Use.REPLENISHED, Use.TRAY])
def test_one_shot_is_never_drawn_from_a_used_vessel(used):
    verdict = way.judge_draw(used, Use.FRESH)
    assert verdict.code == "vessel.used"
    assert "a vessel of fresh liquid" in verdict.offers


def test_a_vessel_kept_for_one_shot_is_not_reused():
    assert way.judge_draw(Use.FRESH, Use.REUSE).code == "vessel.other_use"


@pytest.mark.parametrize(("now", "asked"), list(product(Material, Material)))
def test_film_and_paper_never_share_a_vessel(now, asked):
    verdict = way.judge_material(now, asked)
    assert verdict.ok is (now is asked)
    assert verdict.ok or (verdict.code == "vessel.other_material" and f"a vessel used for {asked}" in verdict.offers)


def test_the_first_use_fixes_the_material():
    assert all(way.judge_material(None, asked).ok for asked in Material)


def test_used_liquid_never_returns_to_a_fresh_bottle():
    for fresh in (FRESH, ONE_SHOT):
        verdict = way.judge_pour_back(REUSED, fresh)
        assert verdict.code == "vessel.fresh"
        assert "a waste container" in verdict.offers


def test_used_liquid_returns_to_the_vessel_it_came_from_or_to_an_empty_one():
    assert way.judge_pour_back(REUSED, REUSED).ok
    assert way.judge_pour_back(REUSED, None).ok


def test_unused_liquid_may_top_up_a_used_vessel():
    assert way.judge_pour_back(FRESH, REUSED).ok
    assert way.judge_pour_back(FRESH, ONE_SHOT).ok


def test_part_b_of_a_two_bath_never_goes_into_part_a():
    assert SCENARIOS["s14"].given == "two-bath: B liquid returned to A container"  # from memory
    verdict = way.judge_pour_back(PART_B, PART_A)
    assert verdict.code == "vessel.first_bath"
    assert way.judge_pour_back(replace(PART_B, used=False), PART_A).code == "vessel.first_bath"
    assert way.judge_pour_back(PART_B, PART_B).ok


def test_another_liquid_or_another_strength_is_never_poured_together():
    assert way.judge_pour_back(FRESH, PART_A).code == "vessel.other_formula"
    assert way.judge_pour_back(replace(FRESH, dilution="1+1"), FRESH).code == "vessel.other_strength"


def test_paper_fixer_never_returns_to_film_fixer():
    assert way.judge_pour_back(PAPER_FIXER, FILM_FIXER).code == "vessel.other_material"
    assert way.judge_pour_back(FILM_FIXER, PAPER_FIXER).code == "vessel.other_material"


def test_a_reused_bath_never_joins_a_replenished_one():
    assert way.judge_pour_back(REUSED, replace(REUSED, use=Use.REPLENISHED)).code == "vessel.other_use"


def test_backed_motion_picture_film_is_refused_with_the_reason():
    assert SCENARIOS["s13"].expect == "refused by material/process compatibility"  # from memory
    for bath in set(Process) - {Process.BACKED_MOTION_PICTURE}:
        verdict = way.judge_process(bath, Process.BACKED_MOTION_PICTURE)
        assert verdict.code == "film.backed"
        assert "remjet" in verdict.reason


@pytest.mark.parametrize(("bath", "film"), list(product(Process, Process)))
def test_a_film_goes_through_its_own_process_only(bath, film):
    verdict = way.judge_process(bath, film)
    assert verdict.ok is (bath is film)
    assert verdict.ok or verdict.offers


def test_a_colour_film_in_a_black_and_white_line_is_told_which_line_it_needs():
    verdict = way.judge_process(Process.BW, Process.COLOUR_NEGATIVE)
    assert verdict.code == "film.other_process"
    assert verdict.offers[0] == "a colour negative line"
