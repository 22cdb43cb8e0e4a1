"""The starter streams, their codes, and what belongs where."""

import pytest

from waste.science import stream as rules
from waste.science.stream import UNIDENTIFIED, belongs, sort_of, starters

# List of Waste, Decision 2000/532/EC as amended by 2014/955/EU: read in a public transcription of the list.
TITLES = {
    "09 01 01*": "water-based developer and activator solutions",
    "09 01 02*": "water-based offset plate developer solutions",
    "09 01 04*": "fixer solutions",
    "09 01 05*": "bleach solutions and bleach fixer solutions",
    "09 01 06*": "wastes containing silver from on-site treatment of photographic wastes",
    "09 01 08": "photographic film and paper free of silver or silver compounds",
    "09 01 10": "single-use cameras without batteries",
    "09 01 11*": "single-use cameras containing batteries included in 16 06 01, 16 06 02 or 16 06 03",
    "09 01 13*": "aqueous liquid waste from on-site reclamation of silver other than those mentioned in 09 01 06",
    "09 01 99": "wastes not otherwise specified",
    "16 09 02*": "chromates, for example potassium chromate, potassium or sodium dichromate",
    "16 10 01*": "aqueous liquid wastes containing hazardous substances",
    "20 01 17*": "photochemicals",
}
# Same source; that a used stop bath has no entry of its own is classification practice, from memory.
CODES = {
    "bw-developer": "09 01 01*",
    "colour-developer": "09 01 01*",
    "fixer": "09 01 04*",
    "ferricyanide-bleach": "09 01 05*",
    "bleach-fix": "09 01 05*",
    "stop-bath": "09 01 99",
    "unidentified": "16 05 06*",
}


@pytest.mark.parametrize(("code", "words"), TITLES.items())
def test_a_code_has_the_title_of_the_list(code, words):
    assert rules.title(code) == words


def test_a_code_that_is_not_kept_has_no_title():
    assert rules.title("09 01 09") == ""  # the list has no such entry


@pytest.mark.parametrize(("stream", "code"), CODES.items())
def test_a_starter_stream_has_its_code(stream, code):
    assert starters()[stream].list_code == code


def test_every_starter_is_coded_with_a_title_and_says_where_it_comes_from():
    for each in starters().values():
        assert rules.is_list_code(each.list_code)
        assert rules.title(each.list_code)
        assert each.source
        assert len(each.note) <= 500
        assert len(each.code) <= 40


@pytest.mark.parametrize("text", ["09 01 01*", "09 01 99"])
def test_a_list_code_is_six_digits_in_pairs(text):
    assert rules.is_list_code(text)


@pytest.mark.parametrize(
    "text", ["", "090101*", "09 01 1", "09 01 01 *", "09 01 01**", "09 01 01*\n", "٠٩ 01 01", " 09 01 01"]
)
def test_anything_else_is_no_list_code(text):
    assert not rules.is_list_code(text)


def test_the_asterisk_says_hazardous():
    assert rules.is_hazardous("09 01 04*")
    assert not rules.is_hazardous("09 01 99")


@pytest.mark.parametrize(
    ("kind", "process", "stream"),
    [
        ("developer", "bw", "bw-developer"),
        ("replenisher", "bw", "bw-developer"),
        ("developer", "colour_negative", "colour-developer"),
        ("developer", "colour_reversal", "colour-developer"),
        ("stop_bath", "bw", "stop-bath"),
        ("fixer", "colour_negative", "fixer"),
        ("washing_aid", "bw", "rinse"),
        ("bleach_fix", "colour_negative", "bleach-fix"),
        ("stabiliser", "colour_negative", "stabiliser"),
    ],
)
def test_a_formula_tells_the_stream_of_its_spent_liquid(kind, process, stream):
    assert sort_of(kind, process) == stream


@pytest.mark.parametrize(("kind", "process"), [("toner", "bw"), ("bleach", "bw"), ("developer", "unheard_of")])
def test_a_kind_that_could_be_one_of_several_streams_is_left_to_the_person(kind, process):
    assert sort_of(kind, process) is None


def test_a_liquid_belongs_with_its_own_sort():
    assert belongs("fixer", "fixer", 500)
    assert not belongs("fixer", "bw-developer", 0)


def test_a_liquid_nobody_named_is_compared_with_nothing():
    assert belongs(None, "fixer", 500)


def test_an_unidentified_liquid_belongs_only_into_an_empty_container_of_its_own():
    assert belongs(UNIDENTIFIED, UNIDENTIFIED, 0)
    assert not belongs(UNIDENTIFIED, UNIDENTIFIED, 1)
    assert not belongs(UNIDENTIFIED, "fixer", 0)
