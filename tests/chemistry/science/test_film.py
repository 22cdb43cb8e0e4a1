"""Roll units and coated areas of film and paper formats."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import film
from chemistry.science.formula import Material
from tests.chemistry.science.trade_values import CASES, SCENARIOS, of_topic

IN2_CM2 = Decimal("6.4516")
SIDES = st.integers(100, 30000).map(lambda tenths: Decimal(tenths) / 10)

ROLLS = {
    "area_film_135-36_36": "135-36",
    "area_film_135-24_24": "135-24",
    "area_film_135-36_half-frame_72": "135-36-half",
    "area_film_120_12": "120",
    "area_film_120_8": "120",
    "area_film_220_24": "220",
    "area_film_127_12": "127",
    "area_film_110_24": "110",
}
LENGTHS = {
    "area_mp_16_mm_x_400_ft": "16mm-400ft",
    "area_mp_35_mm_x_100_ft": "35mm-100ft",
    "area_mp_35_mm_x_400_ft": "35mm-400ft",
    "area_mp_Super_8_x_50_ft": "super8-50ft",
    "area_mp_Double_8_(16_mm)_x_25_ft": "double8-25ft",
}
PAPERS = {
    each.id: "paper-" + each.id.removeprefix("area_sheet_").replace("_in", "").replace("_cm", "cm")
    for each in of_topic("area")
    if each.id.startswith("area_sheet_")
}


def in2(code: str) -> Decimal:
    return film.area(code, 1) / IN2_CM2


def test_every_area_value_is_checked_here():
    assert {each.id for each in of_topic("area")} == {*ROLLS, *LENGTHS, *PAPERS}


@pytest.mark.parametrize(("case", "code"), ROLLS.items())
def test_a_roll_has_its_film_area(case, code):
    value = CASES[case]
    assert value.near("film_in2", in2(code))
    assert value.near("film_equiv_80", in2(code) / 80)


@pytest.mark.parametrize("case", ROLLS)
def test_a_roll_has_its_image_area(case):
    value = CASES[case]
    width, height = map(Decimal, value.input["frame_mm"])
    assert value.near("image_in2", film.image_area(value.input["frames"], width, height) / IN2_CM2)


@pytest.mark.parametrize(("case", "code"), LENGTHS.items())
def test_a_motion_picture_length_is_charged_by_area(case, code):
    assert CASES[case].near("in2", in2(code))
    assert CASES[case].near("equiv_80", film.load(code))


@pytest.mark.parametrize(("case", "code"), PAPERS.items())
def test_a_paper_is_charged_by_area_on_the_grid(case, code):
    value = CASES[case]
    near = max(value.tolerance, Decimal("0.0001"))  # area is kept to 0.001 cm²
    assert abs(in2(code) - value.expected["in2"]) <= near
    half_a_step = Fraction(1, 2 * film.GRID)
    assert abs(film.load(code) - Fraction(value.expected["equiv_8x10"])) <= half_a_step + Fraction(value.tolerance)


# The published table; common practice, except 135-24 and 135-12, which follow the number of frames.
@pytest.mark.parametrize(
    ("code", "load"),
    [
        ("135-36", Fraction(1)),
        ("135-36-half", Fraction(1)),
        ("135-24", Fraction(24, 36)),
        ("135-12", Fraction(12, 36)),
        ("120", Fraction(1)),
        ("220", Fraction(2)),
        ("4x5", Fraction(1, 4)),
        ("5x7", Fraction(7, 16)),
        ("8x10", Fraction(1)),
        ("paper-8x10", Fraction(1)),
        ("paper-16x20", Fraction(4)),
    ],
)
def test_the_published_table_charges(code, load):
    assert film.load(code) == load


def test_a_half_frame_roll_costs_the_same_as_a_full_frame_roll():
    assert SCENARIOS["s01"].expect == "film area and capacity charge identical to 135-36"
    assert film.load("135-36-half") == film.load("135-36")
    assert film.area("135-36-half") == film.area("135-36")


def test_a_paper_session_adds_up():
    wanted, near = SCENARIOS["s16"].expect, SCENARIOS["s16"].tolerance
    area_in2 = (film.area("paper-5x7", 6) + film.area("paper-24x30cm", 2)) / IN2_CM2
    assert abs(area_in2 - wanted["in2"]) <= near
    assert abs(film.load("paper-5x7", 6) + film.load("paper-24x30cm", 2) - Fraction(wanted["units"])) <= near


# Sheet film is cut smaller than its name (from memory of ISO 1012); the real area is kept for silver.
@pytest.mark.parametrize(("code", "area_in2"), [("4x5", "19.51"), ("8x10", "78.87")])
def test_sheet_film_keeps_its_real_area(code, area_in2):
    assert abs(in2(code) - Decimal(area_in2)) < Decimal("0.01")


@pytest.mark.parametrize("code", film.FORMATS)
def test_every_format_is_on_both_grids_and_named_by_a_slug(code):
    each = film.find(code)
    assert each.code == code
    assert code.isascii()
    assert " " not in code
    assert film.GRID % each.load.denominator == 0
    assert each.area_cm2.as_tuple().exponent == -3
    assert each.source


@given(st.sampled_from(sorted(film.FORMATS)), st.integers(1, 10_000), st.integers(1, 10_000))
def test_loads_and_areas_add_up_without_drift(code, some, more):
    if some + more <= film.MOST_COUNT:
        assert film.load(code, some) + film.load(code, more) == film.load(code, some + more)
        assert film.area(code, some) + film.area(code, more) == film.area(code, some + more)


def test_three_rolls_of_twelve_are_one_of_thirty_six():
    assert film.load("135-12", 3) == 1


@given(SIDES, SIDES, st.sampled_from(list(Material)))
def test_a_free_size_is_found_again_by_its_code(width, height, material):
    free = film.by_size(width, height, material)
    assert film.find(free.code) == free
    assert film.by_size(height, width, material) == free
    assert abs(free.load - Fraction(free.width_mm * free.length_mm) / Fraction(film.UNIT_MM2)) <= Fraction(
        1, 2 * film.GRID
    ) or free.code in {"4x5", "8x10"}


def test_a_free_size_that_has_a_name_gets_it():
    assert film.by_size(Decimal("254.0"), Decimal("203.2")).code == "paper-8x10"
    assert film.by_size(Decimal("100.4"), Decimal("125.4"), Material.FILM).code == "4x5"
    assert film.by_size(Decimal("100.4"), Decimal("125.4"), Material.PAPER).code == "paper-100.4x125.4mm"


@pytest.mark.parametrize("side", ["0", "-1", "9.9", "3000.1", "100.05", "NaN", "Infinity"])
def test_an_impossible_size_is_refused(side):
    with pytest.raises(film.UnknownFormat):
        film.by_size(Decimal(side), Decimal(100))


@pytest.mark.parametrize(
    ("typed", "near"), [("135-35", "135-36"), ("paper8x10", "paper-8x10"), ("16MM-100FT", "16mm-100ft")]
)
def test_an_unknown_code_is_refused_with_near_ones(typed, near):
    with pytest.raises(film.UnknownFormat) as refusal:
        film.load(typed)
    assert near in refusal.value.offers
    assert near in str(refusal.value)


@pytest.mark.parametrize(
    "code", ["", "x" * 100_000, "paper-\u0662\u0660\u0660x300mm", "paper-0200x300mm", "paper-200x300", "135-36 "]
)
def test_a_code_is_taken_literally(code):
    with pytest.raises(film.UnknownFormat, match=r"near it|such as paper-200x250mm"):
        film.find(code)


@pytest.mark.parametrize("count", [0, -1, 10_001])
def test_an_impossible_count_is_refused(count):
    with pytest.raises(ValueError, match="10000"):
        film.load("120", count)
    with pytest.raises(ValueError, match="10000"):
        film.area("120", count)


@pytest.mark.parametrize(
    ("said", "offer"),
    [("35mm", "135-36"), ("135", "135-36"), ("35 mm", "135-36"), ("half-frame", "135-36-half"), ("6x6", "120")],
)
def test_what_people_call_a_film_is_offered_first(said, offer):
    with pytest.raises(film.UnknownFormat) as fault:
        film.find(said)
    assert fault.value.offers[0] == offer
