"""Aquatic classes and M-factors from test results: bounds, decades, degradability."""

from decimal import Decimal

import pytest

from chemistry.science.hazard import ecotox

D = Decimal


@pytest.mark.parametrize(
    ("value", "m"),
    [("1", 1), ("0.9", 1), ("0.11", 1), ("0.1", 10), ("0.011", 10), ("0.01", 100), ("0.002", 100), ("0.0001", 10000)],
)
def test_an_acute_m_factor_grows_tenfold_with_each_decade(value, m):
    """0.9 -> 1 and 0.002 -> 100 read in New Zealand's guide; the bounds of the decades from memory."""
    assert ecotox.m_from(D(value), D(1)) == m


@pytest.mark.parametrize(("value", "top", "m"), [("0.1", "0.1", 1), ("0.01", "0.1", 10), ("0.005", "0.01", 1)])
def test_a_chronic_m_factor_counts_from_its_own_top(value, top, m):
    """From memory: NOEC 0.1 for what is not rapidly degradable, 0.01 for what is."""
    assert ecotox.m_from(D(value), D(top)) == m


@pytest.mark.parametrize(
    ("value", "classes"),
    [
        ("1", ("Aquatic Acute 1", "Aquatic Chronic 1")),
        ("1.01", ("Aquatic Chronic 2",)),
        ("10", ("Aquatic Chronic 2",)),
        ("10.1", ("Aquatic Chronic 3",)),
        ("100", ("Aquatic Chronic 3",)),
        ("101", ()),
    ],
)
def test_classes_without_chronic_data(value, classes):
    """CLP Annex I Table 4.1.0, from memory."""
    assert ecotox.from_tests([D(value)], rapidly_degradable=False).classes == classes
    assert ecotox.from_tests([D(500), D(value)], rapidly_degradable=False).classes == classes


def test_what_degrades_is_chronic_only_if_it_accumulates():
    assert ecotox.from_tests([D("0.05")], rapidly_degradable=True) == ecotox.Ecotoxicity(("Aquatic Acute 1",), 10, None)
    kept = ecotox.from_tests([D("0.05")], rapidly_degradable=True, bioaccumulates=True)
    assert kept == ecotox.Ecotoxicity(("Aquatic Acute 1", "Aquatic Chronic 1"), 10, 10)


def test_without_an_official_m_the_one_from_data_is_used():
    assert (ecotox.used_m(10, None), ecotox.used_m(1, 10), ecotox.used_m(None, None)) == (10, 10, None)
