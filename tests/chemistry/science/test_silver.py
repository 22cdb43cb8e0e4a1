"""Silver that a fixer takes out of film and paper."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import film
from chemistry.science.formula import Material
from chemistry.science.silver import dissolved


def test_twenty_rolls_in_a_litre_leave_three_and_a_half_grams():
    # silver_fixer_load: 4.5 g/m², 35 x 1620 mm, 30 % developed, from memory: 3.572 g/L.
    found = dissolved(film.area("135-36", 20), Material.FILM)
    assert abs(found.nominal_mg / 1000 - Decimal("3.572")) < Decimal("0.005")


def test_the_range_is_that_of_the_coating():
    # Film 3 to 7 g/m², paper 1 to 2, from memory; a square metre, 70 % of it dissolved.
    film_silver, paper = (dissolved(Decimal(10_000), material) for material in (Material.FILM, Material.PAPER))
    assert (film_silver.low_mg, film_silver.nominal_mg, film_silver.high_mg) == (2100, 3150, 4900)
    assert (paper.low_mg, paper.nominal_mg, paper.high_mg) == (700, 1050, 1400)


@given(st.integers(0, 10**9), st.sampled_from(Material))
def test_the_nominal_figure_lies_in_its_range(thousandths, material):
    found = dissolved(Decimal(thousandths).scaleb(-3), material)
    assert 0 <= found.low_mg <= found.nominal_mg <= found.high_mg


@pytest.mark.parametrize("area", ["-1", "NaN", "Infinity"])
def test_no_area_below_nothing(area):
    with pytest.raises(ValueError, match="area"):
        dissolved(Decimal(area), Material.FILM)
