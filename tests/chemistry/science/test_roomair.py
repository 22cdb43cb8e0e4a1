"""From composition to air: what limits a dust is judged by, and what acid meets in a liquid."""

from decimal import Decimal

import molmass
import pytest

from chemistry.science import roomair
from chemistry.science.hazard import strength
from chemistry.science.hazard.composition import Amount, Basis, Recipe
from chemistry.science.hazard.table import standard

D = Decimal


@pytest.mark.parametrize(("cas", "formula"), [("10117-38-1", "K2SO3"), ("10102-15-5", "Na2SO3(H2O)7")])
def test_other_sulfites_count_by_their_moles(cas, formula):
    """Molar masses by a general chemistry library."""
    ratio = molmass.Formula("Na2SO3").mass / molmass.Formula(formula).mass
    found = roomair.of_liquid([(cas, D(100))])
    assert abs(found.sulfite - D(100 * ratio)) < D("0.01")


def test_what_is_acid_or_frees_gas_and_is_not_balanced_is_named_once():
    parts = [("7757-83-7", D(10)), ("7681-57-4", D(5)), ("10102-17-7", D(200)), ("7772-98-7", D(1)), ("77-92-9", D(0))]
    found = roomair.of_liquid(parts)
    assert (found.sulfite, found.acetic) == (10, 0)
    assert found.unbalanced == ("sodium metabisulfite", "thiosulfate")


def test_a_range_counts_at_its_most():
    recipe = Recipe((Amount("123-31-9", D(5), D(20)), Amount("7757-83-7", D(60), D(80))), Basis.PERCENT, powder=True)
    dust = roomair.of_powder(strength.at(recipe, strength.POWDER, standard()), standard())
    shares = {agent.name: share for agent, share in dust.agents}
    assert shares["hydroquinone"] == D("0.2")
    assert shares["dust of any kind"] == 1
    assert "what is not named" in dust.without


def test_the_dust_of_a_substance_nobody_knows_is_no_answer():
    with pytest.raises(LookupError):
        roomair.of_substance("67-64-1", standard())
