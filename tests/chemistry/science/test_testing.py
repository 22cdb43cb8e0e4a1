"""The three tests of a bath."""

from decimal import Decimal
from fractions import Fraction

import pytest

from chemistry.science import testing
from chemistry.science.testing import Outcome, judge_bath, judge_clearing, judge_clip, judge_stop


@pytest.mark.parametrize(
    ("now", "outcome", "ratio", "fix"),
    [(91, Outcome.FAIL, "2.0222", 182), (90, Outcome.FAIL, "2", 180), (89, Outcome.PASS, "1.9778", 178)],
)
def test_a_fixer_fails_at_twice_its_fresh_clearing_time(now, outcome, ratio, fix):
    """45 s fresh; US Navy photography course, Life of a Fixing Bath: discard at twice, fix for twice."""
    found = judge_clearing(Decimal(45), Decimal(now), same_film=True)
    assert (found.outcome, found.fix_time_s) == (outcome, fix)
    assert abs(found.ratio - Decimal(ratio)) <= Decimal("0.001")


def test_a_formula_may_use_three_times():
    assert judge_clearing(Decimal(45), Decimal(91), same_film=True, fail_ratio=Decimal(3)).outcome is Outcome.PASS


@pytest.mark.parametrize("reading", [(45, 91, False), (0, 91, True), (45, 0, True), (45, 40, False)])
def test_another_film_or_no_time_gives_no_verdict(reading):
    """Scenario s08: emulsions clear at different speeds (photrio.com thread 61690)."""
    fresh, now, same = reading
    found = judge_clearing(Decimal(fresh), Decimal(now), same_film=same)
    assert (found.outcome, found.ratio, found.fix_time_s) == (Outcome.NONE, None, None)
    assert found.reason


def test_a_failed_test_stops_a_fixer_that_counts_as_young():
    """Scenario s06: 40 % by count, 2.02 times fresh."""
    refusal = judge_bath(Fraction(2, 5), judge_clearing(Decimal(45), Decimal(91), same_film=True), override=True)
    assert (refusal.ok, refusal.code) == (False, "bath.failed")
    assert refusal.offers


def test_a_passed_test_does_not_lift_the_count_without_a_recorded_override():
    """Scenario s07: 105 % by count, 1.3 times fresh on the same film."""
    passed = judge_clearing(Decimal(50), Decimal(65), same_film=True)
    assert judge_bath(Fraction(105, 100), passed).code == "bath.exhausted"
    assert "105 %" in judge_bath(Fraction(105, 100), passed).reason
    assert judge_bath(Fraction(105, 100), passed, override=True).ok
    assert not judge_bath(Fraction(105, 100), None, override=True).ok
    assert not judge_bath(
        Fraction(105, 100), judge_clearing(Decimal(50), Decimal(65), same_film=False), override=True
    ).ok


def test_a_bath_within_its_count_and_untested_is_used():
    assert judge_bath(Fraction(99, 100), None).ok
    assert not judge_bath(Fraction(1), None).ok


@pytest.mark.parametrize(
    ("density", "outcome"),
    [("1.90", Outcome.PASS), ("2.10", Outcome.PASS), ("1.89", Outcome.FAIL), ("2.11", Outcome.FAIL)],
)
def test_a_strip_within_a_tenth_of_the_release_strip_passes(density, outcome):
    """Density within 0.10: common practice, no source."""
    assert judge_clip(density=Decimal(density), release_density=Decimal("2.00")).outcome is outcome


def test_a_strip_may_be_matched_by_eye():
    assert judge_clip(matches=True).outcome is Outcome.PASS
    assert judge_clip(matches=False).outcome is Outcome.FAIL


def test_eye_and_density_must_both_pass():
    assert judge_clip(density=Decimal(2), release_density=Decimal(2), matches=False).outcome is Outcome.FAIL
    assert judge_clip(density=Decimal(1), release_density=Decimal(2), matches=True).outcome is Outcome.FAIL
    both = judge_clip(density=Decimal(2), release_density=Decimal(2), matches=True)
    assert both.outcome is Outcome.PASS
    assert both.reason == "matches by eye; density 0 from the release strip, 0.10 allowed"


def test_a_strip_without_its_release_strip_gives_no_verdict():
    assert judge_clip(density=Decimal(2)).outcome is Outcome.NONE


@pytest.mark.parametrize(
    ("seen", "outcome"),
    [
        ({"density": Decimal("1.00")}, Outcome.PASS),
        ({"density": Decimal("0.99")}, Outcome.FAIL),
        ({"matches": True}, Outcome.PASS),
        ({"matches": False, "density": Decimal(2)}, Outcome.FAIL),
        ({}, Outcome.NONE),
    ],
)
def test_the_release_strip_itself_must_be_black_or_like_an_earlier_one(seen, outcome):
    """1.00: our choice, no source."""
    assert testing.judge_reference(**seen).outcome is outcome


@pytest.mark.parametrize(
    ("seen", "outcome"),
    [
        ({"indicator_ok": True}, Outcome.PASS),
        ({"indicator_ok": False}, Outcome.FAIL),
        ({"ph": Decimal(6), "highest_ph": Decimal(6)}, Outcome.PASS),
        ({"ph": Decimal("6.1"), "highest_ph": Decimal(6)}, Outcome.FAIL),
        ({"indicator_ok": True, "ph": Decimal(7), "highest_ph": Decimal(6)}, Outcome.FAIL),
        ({"ph": Decimal(6)}, Outcome.NONE),
        ({}, Outcome.NONE),
    ],
)
def test_a_stop_bath_is_judged_by_indicator_or_ph(seen, outcome):
    """Plain stop until about pH 6: from memory."""
    assert testing.judge_stop(**seen).outcome is outcome


def test_a_turned_indicator_is_named():
    assert judge_stop(indicator_ok=False).reason == "indicator turned"
