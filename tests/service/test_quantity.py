"""Amounts: the closed units, the closed grammar of numbers, and the whole-number grids."""

import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from darkroom_service import quantity
from darkroom_service.quantity import Dimension, QuantityFault

# NIST Handbook 44, Appendix C (gallon, quart, ounces, pound, inch); UK Weights and Measures Act 1985 (imperial);
# the rest is metric by definition.
KNOWN = [
    ("1", "us_gal", Dimension.VOLUME, "3785.411784"),
    ("1", "us_qt", Dimension.VOLUME, "946.352946"),
    ("1", "us_fl_oz", Dimension.VOLUME, "29.5735295625"),
    ("1", "imp_gal", Dimension.VOLUME, "4546.09"),
    ("1", "imp_pt", Dimension.VOLUME, "568.26125"),
    ("1", "imp_fl_oz", Dimension.VOLUME, "28.4130625"),
    ("1.5", "L", Dimension.VOLUME, "1500"),
    ("0.1", "mL", Dimension.VOLUME, "0.1"),
    ("1", "oz", Dimension.MASS, "28.349523125"),
    ("1", "lb", Dimension.MASS, "453.59237"),
    ("2.5", "kg", Dimension.MASS, "2500"),
    ("80", "in2", Dimension.AREA, "516.128"),
    ("1", "m2", Dimension.AREA, "10000"),
    ("68", "degF", Dimension.TEMPERATURE, "20"),
    ("-40", "degF", Dimension.TEMPERATURE, "-40"),
    ("122", "degF", Dimension.TEMPERATURE, "50"),
    ("7.5", "min", Dimension.DURATION, "450"),
]


@pytest.mark.parametrize(("value", "unit", "dimension", "base"), KNOWN)
def test_a_known_amount_converts_exactly(value, unit, dimension, base):
    assert quantity.to_base(value, unit, dimension) == Decimal(base)


@pytest.mark.parametrize(
    ("unit", "offer"),
    [
        ("gal", "us_gal or imp_gal"),
        ("gallon", "us_gal or imp_gal"),
        ("ML", "megalitre"),
        ("ml", "say mL"),
        ("l", "say L"),
        ("fl_oz", "us_fl_oz or imp_fl_oz"),
        ("pint", "imp_pt"),
        ("furlong", "mL, L"),
        ("9**9**9", "mL, L"),
        (None, "mL, L"),
        (["mL"], "mL, L"),
        ({}, "mL, L"),
    ],
)
def test_an_unknown_volume_unit_is_refused_with_the_ones_that_would_do(unit, offer):
    with pytest.raises(QuantityFault, match=offer) as found:
        quantity.to_base("1", unit, Dimension.VOLUME)
    assert found.value.code == "unit.unknown"
    assert "us_gal" in found.value.facts["units"]


def test_an_ounce_of_weight_is_no_volume():
    with pytest.raises(QuantityFault, match="oz measures mass") as found:
        quantity.to_base("8", "oz", Dimension.VOLUME)
    assert found.value.code == "unit.mismatched"


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "1 ", " 1", "1\n", "+1", "--1", "1.", ".5", "1..2", "1,5", "1_000", "1e3", "1E3", "0x10", "NaN", "nan",
        "Infinity", "-inf", "１２", "٣", "²", "1.5mL", "01", "00", "1234567890123", "1.0123456789", "1 000", "1'0",
        "½", "1/2", "\x001",
    ],
)  # fmt: skip
def test_a_number_outside_the_grammar_is_refused(text):
    with pytest.raises(QuantityFault) as found:
        quantity.parse_decimal(text, signed=True)
    assert found.value.code == "number.malformed"
    assert "250" in found.value.message


@pytest.mark.parametrize("value", [1, 1.5, True, None, [], {}, Decimal(1), b"1"])
def test_a_number_that_is_not_text_is_refused(value):
    with pytest.raises(QuantityFault) as found:
        quantity.parse_decimal(value)
    assert found.value.code == "number.not_text"


def test_a_sign_is_refused_unless_asked_for():
    with pytest.raises(QuantityFault) as found:
        quantity.parse_decimal("-1")
    assert found.value.code == "number.negative"
    assert quantity.parse_decimal("-1", signed=True) == -1


@pytest.mark.parametrize(
    ("value", "unit", "dimension"),
    [
        ("1000.001", "L", Dimension.VOLUME),
        ("999999999999", "us_gal", Dimension.VOLUME),
        ("999999999999", "m2", Dimension.AREA),
        ("-41", "degC", Dimension.TEMPERATURE),
        ("151", "degC", Dimension.TEMPERATURE),
    ],
)
def test_an_amount_nobody_means_is_refused(value, unit, dimension):
    with pytest.raises(QuantityFault) as found:
        quantity.to_base(value, unit, dimension)
    assert found.value.code == "quantity.out_of_range"


def test_a_thousand_litres_is_still_an_amount():
    assert quantity.to_base("1000", "L", Dimension.VOLUME) == 1_000_000


@given(st.decimals(min_value=0, max_value=219, places=9), st.sampled_from(list(quantity.UNITS[Dimension.VOLUME])))
def test_an_amount_goes_to_the_base_unit_and_back(value, unit):
    amount = quantity.to_base(f"{value:f}", unit, Dimension.VOLUME)
    back = quantity.from_base(amount, unit, Dimension.VOLUME)
    assert abs(back.value - value) < Decimal("1e-18")
    assert back.unit == unit


@given(st.integers(-(10**7), 10**7))
def test_a_count_on_the_volume_grid_survives_the_way_out_and_in(count):
    assert quantity.tenths(quantity.millilitres(count)) == count


@given(st.integers(-(10**12), 10**12))
def test_a_count_on_the_area_grid_survives_the_way_out_and_in(count):
    assert quantity.area_units(quantity.cm2(count)) == count


@given(st.integers(-(10**9), 10**9))
def test_a_count_on_the_load_grid_survives_the_way_out_and_in(count):
    assert quantity.load_units(quantity.rolls(count)) == count


def test_thirds_of_a_roll_never_drift():
    third = quantity.load_units(Fraction(24, 36) / 2)
    assert third * 3 == quantity.load_units(Fraction(1))


@pytest.mark.parametrize(("ml", "count"), [("0.25", 2), ("0.35", 4), ("0.05", 0), ("0.15", 2), ("946.352946", 9464)])
def test_a_volume_rounds_once_half_to_even(ml, count):
    assert quantity.tenths(Decimal(ml)) == count


def test_millilitres_always_show_one_place():
    assert str(quantity.millilitres(2500)) == "250.0"
    assert str(quantity.Quantity(quantity.millilitres(3), "mL")) == "0.3 mL"


def test_the_unit_library_is_loaded_on_first_use_only():
    use = "import sys, darkroom_service.quantity as q; q.to_base('1', 'mL', q.Dimension.VOLUME)"
    code = f"{use}; print('pint' in sys.modules)"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "False"
