"""Hydrates, solubility, heats of solution."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from chemistry.science import salt

SULFITE, HYPO, CARBONATE = "7757-83-7", "10102-17-7", "497-19-8"


@pytest.mark.parametrize("name", salt.MOLAR_MASS)
def test_every_molar_mass_agrees_with_the_atomic_weights(name):
    assert abs(salt.MOLAR_MASS[name] - Decimal(str(Formula(name.replace(".", "+")).mass))) <= Decimal("0.01")


@pytest.mark.parametrize(
    ("have", "wanted", "share"),
    [
        ("Na2CO3.H2O", "Na2CO3", "0.8548"),
        ("Na2CO3.10H2O", "Na2CO3", "0.3704"),
        ("Na2S2O3.5H2O", "Na2S2O3", "0.6371"),
        ("Na2B4O7.10H2O", "Na2B4O7", "0.5276"),
        ("Na2SO3.7H2O", "Na2SO3", "0.500"),
    ],
)
def test_a_gram_of_hydrate_is_less_salt(have, wanted, share):
    """Exact arithmetic on molar masses."""
    assert abs(salt.swap_hydrate(Decimal(1), have, wanted) - Decimal(share)) <= Decimal("0.0005")


def test_one_salt_is_not_swapped_for_another():
    with pytest.raises(ValueError, match="not forms of one salt"):
        salt.swap_hydrate(Decimal(1), "Na2CO3.H2O", "Na2SO3")


def test_sulfite_dissolves_less_above_33_degrees():
    """20 and 33.4 °C from memory; 100 °C from the IUPAC solubility series: 20.8 mass %, 2.084 mol/kg."""
    assert salt.solubility(SULFITE, Decimal(20)) == Decimal("26.3")
    assert salt.solubility(SULFITE, Decimal("26.7")) == Decimal("31.65")  # halfway between the two
    assert salt.solubility(SULFITE, Decimal("33.4")) == 37
    assert abs(salt.solubility(SULFITE, Decimal(100)) - Decimal("20.8") / Decimal("79.2") * 100) <= Decimal("0.01")
    assert abs(salt.solubility(SULFITE, Decimal(100)) * 10 / salt.MOLAR_MASS["Na2SO3"] - Decimal("2.084")) <= Decimal(
        "0.01"
    )
    peak = max(range(101), key=lambda celsius: salt.solubility(SULFITE, Decimal(celsius)))
    assert abs(peak - Decimal("33.4")) <= 1


def test_too_much_sulfite_is_refused_with_more_water_or_the_best_temperature():
    refusal = salt.dissolves(SULFITE, Decimal(300), Decimal(900), Decimal(90))
    assert refusal.code == "salt.insoluble"
    assert "Hotter water takes less" in refusal.reason
    assert "mL of water" in refusal.offers[0]
    assert "33.4" in refusal.offers[1]


def test_just_what_dissolves_is_let_in():
    assert salt.dissolves(SULFITE, Decimal("26.3"), Decimal(100), Decimal(20)).ok
    assert not salt.dissolves(SULFITE, Decimal("26.4"), Decimal(100), Decimal(20)).ok


def test_at_its_best_temperature_sulfite_already_takes_no_more_heat():
    assert "Hotter" in salt.dissolves(SULFITE, Decimal(400), Decimal(900), Decimal("33.4")).reason


def test_hotter_is_not_called_worse_where_it_helps():
    assert "Hotter" not in salt.dissolves(CARBONATE, Decimal(300), Decimal(900), Decimal(60)).reason
    assert "Hotter" not in salt.dissolves(SULFITE, Decimal(300), Decimal(900), Decimal(10)).reason
    assert salt.dissolves(CARBONATE, Decimal(300), Decimal(900), Decimal(60)).offers == (
        "start with at least 1395 mL of water",
    )


def test_what_nobody_knows_is_not_refused():
    assert salt.dissolves("50-00-0", Decimal(900), Decimal(1), Decimal(20)).ok
    assert salt.solubility("1303-96-4", Decimal(5)) is None


def test_the_usual_stock_dissolves_in_its_start_water():
    """100 g of sulfite in 750 mL at 52 °C, as every MQ-borax stock asks (from memory)."""
    assert salt.dissolves(SULFITE, Decimal(100), Decimal(750), Decimal(52)).ok


def test_hypo_cools_and_carbonate_warms_its_water():
    """Enthalpies of solution from memory: about -10 and +4 degrees in a litre."""
    assert abs(salt.temperature_change(HYPO, Decimal(240), Decimal(1000)) - Decimal("-10.19")) <= Decimal("0.3")
    assert abs(salt.temperature_change(CARBONATE, Decimal("67.5"), Decimal(1000)) - Decimal("4.0")) <= Decimal("0.3")
    assert salt.temperature_change(SULFITE, Decimal(100), Decimal(1000)) == 0


def test_three_parts_glacial_in_eight_of_water_is_28_per_cent():
    """US Navy photography course, page 240 (3 + 8 gives 28 %)."""
    assert salt.acid_strength(Decimal(3), Decimal(8)) == Decimal("28.13")


@given(st.sampled_from(sorted(salt.SALTS)), st.integers(0, 100), st.integers(1, 2000))
def test_what_dissolves_still_dissolves_in_more_water(cas, celsius, grams):
    if salt.dissolves(cas, Decimal(grams), Decimal(1000), Decimal(celsius)).ok:
        assert salt.dissolves(cas, Decimal(grams), Decimal(1500), Decimal(celsius)).ok
