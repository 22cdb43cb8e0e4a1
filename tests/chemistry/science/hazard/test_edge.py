"""Where a rule turns by one comparison: each case here gives another answer when that comparison is turned round."""

from fractions import Fraction

import pytest

from chemistry.science.hazard import acute, gap
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.classify import judge
from chemistry.science.hazard.mixture import Policy
from tests.chemistry.science.hazard import made


def test_what_only_irritates_the_skin_does_not_damage_the_eye():
    """CLP Annex I Table 3.3.3, same numbers read in SOR/2015-17: skin irritants are in none of its sums."""
    assert made.codes((made.substance("Skin Irrit. 2"), 50)) == {"Skin Irrit. 2 H315"}


@pytest.mark.parametrize("letter", ["Skin Corr. 1A", "Skin Corr. 1", "Skin Corr. 1B", "Skin Corr. 1C"])
def test_every_letter_of_skin_corrosion_damages_the_eye(letter):
    """Its own limit of 1 % burns the skin where Table 3.3.3 by itself, from 3 %, would only irritate the eye."""
    burns = made.substance(letter, bands=[(letter, "1", None)])
    assert made.given(Endpoint.EYE, (burns, 1)) == "Eye Dam. 1"


def test_of_two_equal_trails_the_first_is_told():
    """The law's own sum is told before the class that follows from the skin: a choice of this service."""
    found = judge(made.point((made.substance("Skin Corr. 1B"), 10)))
    [eye] = [each for each in found.given if each.endpoint is Endpoint.EYE]
    assert eye.rule.startswith("Table 3.3.3")


def test_the_endpoints_without_data_are_named_and_no_others():
    blind = made.substance(name="dye", no_data=["skin", "aquatic_chronic"])
    mixed = made.mixture((blind, 1, 1))
    [missing] = gap.gaps(mixed, mixed.worst(Policy()))
    assert missing.words == "dye (1 %): no data for skin, aquatic chronic."


@pytest.mark.parametrize(("percent", "asked"), [("2", True), ("1.999999", False)])
def test_the_ph_is_asked_for_from_the_share_on_that_the_table_gives(percent, asked):
    """By the table's own words: the share from which it may push a pH to 2 or 11.5."""
    base = made.substance(name="base", extreme_ph_from=Fraction(2))
    mixed = made.mixture((base, percent, percent))
    assert [each.code for each in gap.gaps(mixed, mixed.worst(Policy()))] == (["ph.missing"] if asked else [])


def test_the_parts_of_the_trail_add_up_to_the_formula():
    """CLP Annex I 3.1.3.6.1: 100 / ATEmix = sum of share / ATE; by hand 20/200 + 30/400 = 0.175, 571.43 mg/kg."""
    pair = [(made.substance(name=name, acute=[("oral", number, ate)]), share)
            for name, number, ate, share in (("a", 3, 200, 20), ("b", 4, 400, 30))]  # fmt: skip
    [trail] = acute.by_route(made.point(*pair), Endpoint.ACUTE_ORAL)
    assert [each.part for each in trail.counted] == [Fraction("0.1"), Fraction("0.075")]
    assert trail.total == 100 / Fraction("0.175")
