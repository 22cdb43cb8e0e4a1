"""May this be poured there. Volumes are counts of 0.1 mL."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waste.science import fill as rules

RATED, WORKING = 100_000, 90_000  # a 10 L can filled to 9 L


def judge(
    state: str = "open", contents: int = 0, volume: int = 1, *, same_stream: bool = True, **more: Any
) -> rules.Judgement:
    return rules.judge(state, contents, WORKING, RATED, volume, same_stream=same_stream, **more)


def test_an_open_container_of_the_right_stream_with_room_takes_a_pour():
    assert judge(volume=4_500) == rules.Judgement((), room=WORKING)


def test_exactly_full_is_allowed():
    # common practice, no source: the working fill is the mark one fills to
    assert judge(contents=WORKING - 2_500, volume=2_500).allowed


def test_a_tenth_of_a_millilitre_more_than_full_is_overfull():
    assert judge(contents=WORKING - 2_500, volume=2_501).flags == (rules.OVERFULL,)


def test_brimful_is_overfull_and_a_tenth_of_a_millilitre_more_is_more_than_it_holds():
    assert judge(contents=WORKING, volume=RATED - WORKING).flags == (rules.OVERFULL,)
    assert judge(contents=WORKING, volume=RATED - WORKING + 1).flags == (rules.OVERFULL, rules.OVER_RATED)


@pytest.mark.parametrize(
    ("state", "flag"),
    [("closed", rules.CLOSED), ("quarantined", rules.QUARANTINED), ("unopened", rules.UNOPENED)],
)
def test_a_container_that_is_not_open_is_named_as_what_it_is(state, flag):
    assert judge(state).flags == (flag,)
    assert judge(state).reason == rules.REASONS[flag]


def test_every_broken_rule_is_flagged_and_the_wrong_stream_comes_first():
    found = judge("closed", WORKING, RATED, same_stream=False)
    assert found.flags == (rules.WRONG_STREAM, rules.CLOSED, rules.OVERFULL, rules.OVER_RATED)
    assert found.reason == rules.REASONS[rules.WRONG_STREAM]


@pytest.mark.parametrize(
    ("judgement", "doubtful"),
    [
        (judge("closed"), True),
        (judge(same_stream=False), True),
        (judge(contents=WORKING), True),
        (judge("collected"), True),
        (judge(meeting="never"), True),
        (judge(meeting="caution"), False),
        (judge("quarantined"), False),
        (judge(), False),
    ],
)
def test_a_pour_that_should_not_be_makes_the_container_doubtful(judgement, doubtful):
    assert judgement.quarantines is doubtful


def test_a_word_lifts_a_caution_and_another_stream_and_never_what_must_not_meet():
    assert judge(meeting="caution").flags == (rules.CAUTION,)
    lifted = judge(same_stream=False, meeting="caution", acknowledged=True)
    assert (lifted.allowed, lifted.acknowledged) == (True, True)
    assert judge(same_stream=False, acknowledged=True).allowed
    never = judge(same_stream=False, meeting="never", acknowledged=True)
    assert (never.flags, never.acknowledged) == ((rules.INCOMPATIBLE, rules.WRONG_STREAM), False)


def test_an_overfull_container_has_no_room_rather_than_less_than_none():
    assert judge(contents=RATED).room == 0


@given(contents=st.integers(0, 2 * RATED), volume=st.integers(1, 2 * RATED))
def test_what_is_allowed_always_ends_at_or_under_the_working_fill(contents, volume):
    judgement = judge(contents=contents, volume=volume)
    assert judgement.allowed is (contents + volume <= WORKING)
    assert judgement.allowed is (volume <= judgement.room)


def test_a_container_is_filled_to_nine_tenths_unless_somebody_says_otherwise():
    assert rules.working_fill(RATED) == WORKING
    # ADR 4.1.1.4 (a), 2013 text: at most 94 % for a liquid that boils at 100 °C or above
    assert rules.working_fill(RATED) <= RATED * 94 // 100


@given(st.integers(2, 10**7))
def test_the_usual_working_fill_always_fits_the_container(rated):
    assert 0 < rules.working_fill(rated) < rated
