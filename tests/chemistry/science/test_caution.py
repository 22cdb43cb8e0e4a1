"""The floor of words and gloves."""

from decimal import Decimal

import pytest

from chemistry.science.caution import handling
from chemistry.science.formula import Form, Ingredient, Keeping, Kind, Process, Rules

METOL = Ingredient("metol", "55-55-0", Decimal(2))
HYDROQUINONE = Ingredient("hydroquinone", "123-31-9", Decimal(5))
BORAX = Ingredient("borax", "1303-96-4", Decimal(2))
SULFITE = Ingredient("sodium sulfite", "7757-83-7", Decimal(100))


def words(kind, *parts, form=Form.LIQUID):
    rules = Rules(kind, Process.BW, form, parts, ("stock",), (), Keeping(6, 2, 14))
    return [" ".join((line.hazard, line.precaution, line.ask)) for line in handling(rules, form)]


@pytest.mark.parametrize(
    "kind", [Kind.DEVELOPER, Kind.REPLENISHER, Kind.TONER, Kind.BLEACH, Kind.BLEACH_FIX, Kind.STABILISER]
)
def test_eyes_and_hands_are_covered_for_what_must_not_be_touched(kind):
    assert any("eye protection and gloves" in line and "tongs" in line for line in words(kind))


@pytest.mark.parametrize("kind", [Kind.WASHING_AID, Kind.FIXER])
def test_a_washing_aid_or_liquid_fixer_has_only_the_last_line(kind):
    assert len(words(kind, SULFITE)) == 1


@pytest.mark.parametrize("form", Form)
def test_metol_and_hydroquinone_are_named_in_every_form(form):
    found = words(Kind.DEVELOPER, METOL, HYDROQUINONE, form=form)
    assert any("Contains metol, hydroquinone: may cause an allergic reaction" in line for line in found)


def test_only_what_is_in_it_is_named():
    assert any("Contains hydroquinone: may" in line for line in words(Kind.DEVELOPER, HYDROQUINONE))
    assert not any("allergic" in line for line in words(Kind.DEVELOPER, SULFITE))


def test_powder_asks_for_a_dust_respirator_as_the_suppliers_sheet_says():
    assert any("dust respirator as the supplier's sheet says" in line for line in words(Kind.FIXER, form=Form.POWDER))
    assert not any("respirator" in line for line in words(Kind.DEVELOPER, METOL))


@pytest.mark.parametrize("part", [HYDROQUINONE, BORAX])
def test_powder_with_reproductive_or_germ_cell_statements_may_be_had_premixed(part):
    """H341 of hydroquinone, H360FD of borates: EU harmonised list, from memory."""
    found = words(Kind.DEVELOPER, part, form=Form.POWDER)
    assert any(part.name in line and "pre-mixed; no reason need be given" in line for line in found)
    assert not any("pre-mixed" in line for line in words(Kind.DEVELOPER, part))
    assert not any("pre-mixed" in line for line in words(Kind.DEVELOPER, SULFITE, form=Form.POWDER))


def test_acid_goes_into_water():
    assert any("acid into the water, never the water into the acid" in line for line in words(Kind.STOP_BATH))


@pytest.mark.parametrize("kind", Kind)
def test_the_suppliers_sheet_and_local_rules_prevail_and_somebody_is_named_to_ask(kind):
    found = words(kind, METOL, form=Form.POWDER)
    assert "calculated, not tested" in found[-1]
    assert "supplier's safety data sheet and the local rules prevail" in found[-1]
    assert all("ask the technician" in line for line in found)
