"""Label codes: a slip in reading or typing is noticed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from darkroom_service import shortcode
from darkroom_service.shortcode import ShortcodeFault

CODES = st.binary(min_size=64, max_size=64).map(shortcode.make)
PLACES = st.integers(0, shortcode.LENGTH)


@given(CODES)
def test_a_code_is_accepted_as_made(code):
    assert shortcode.check(code) == code
    assert len(code) == 6
    assert set(code) <= set(shortcode.ALPHABET)


@given(CODES, PLACES, st.sampled_from(shortcode.ALPHABET))
def test_every_wrong_symbol_is_noticed(code, place, symbol):
    wrong = code[:place] + symbol + code[place + 1 :]
    if wrong == code:
        return
    with pytest.raises(ShortcodeFault, match="slip"):
        shortcode.check(wrong)


@given(CODES, st.integers(0, shortcode.LENGTH - 1))
def test_every_swap_of_neighbours_is_noticed(code, place):
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    if swapped == code:
        return
    with pytest.raises(ShortcodeFault, match="slip"):
        shortcode.check(swapped)


@given(CODES)
def test_case_dashes_and_look_alikes_are_forgiven(code):
    spoken = code.lower().replace("0", "o").replace("1", "l")
    assert shortcode.check(f" {spoken[:3]}-{spoken[3:]} ") == code


@pytest.mark.parametrize("text", ["", "7K3", "7K3QF22", "UUUUUU", "７K3QF2", "7K3QF\x00", "******"])
def test_what_is_no_code_at_all_is_refused(text):
    with pytest.raises(ShortcodeFault, match="6 letters and digits"):
        shortcode.check(text)


def test_the_same_bytes_make_the_same_code():
    assert shortcode.make(bytes(range(40, 56))) == shortcode.make(bytes(range(40, 56)))


def test_too_few_bytes_make_no_code():
    with pytest.raises(ShortcodeFault, match="give more"):
        shortcode.make(b"abc")
