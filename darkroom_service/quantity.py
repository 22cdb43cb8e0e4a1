"""Amounts as people write them, and the whole-number grids the ledgers count on.

A unit comes from a closed list; nobody's text reaches the unit library's parser (``9**9**9`` hung it).
The units: US and imperial gallon, quart, pint and ounces as in NIST Handbook 44, Appendix C; the rest is metric.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from enum import StrEnum
from fractions import Fraction
from functools import cache
from typing import Any

TENTHS_PER_ML = 10
LOAD_PER_ROLL = 3600
AREA_PER_CM2 = 1000

# Enough digits that converting any accepted number is exact wherever the factor is.
PRECISE = Context(prec=40, rounding=ROUND_HALF_EVEN)
NUMBER = re.compile(r"-?(?:0|[1-9][0-9]{0,11})(?:\.[0-9]{1,9})?", re.ASCII)


class Dimension(StrEnum):
    """What an amount measures; the value is the word used in messages."""

    VOLUME = "volume"
    MASS = "mass"
    AREA = "area"
    TEMPERATURE = "temperature"
    DURATION = "duration"


# Dimension -> the accepted units, the base unit first, each with the unit library's own name for it.
UNITS: dict[Dimension, dict[str, str]] = {
    Dimension.VOLUME: {
        "mL": "milliliter",
        "L": "liter",
        "us_fl_oz": "fluid_ounce",
        "us_qt": "quart",
        "us_gal": "gallon",
        "imp_fl_oz": "imperial_fluid_ounce",
        "imp_pt": "imperial_pint",
        "imp_gal": "imperial_gallon",
    },
    Dimension.MASS: {"g": "gram", "kg": "kilogram", "oz": "ounce", "lb": "pound"},
    Dimension.AREA: {"cm2": "centimeter ** 2", "in2": "inch ** 2", "m2": "meter ** 2"},
    Dimension.TEMPERATURE: {"degC": "degree_Celsius", "degF": "degree_Fahrenheit"},
    Dimension.DURATION: {"s": "second", "min": "minute"},
}
# The lowest and highest amount anybody here means, in the base unit: 1000 L, 1 t, 1000 m2, tap to kettle, ten years.
RANGE: dict[Dimension, tuple[int, int]] = {
    Dimension.VOLUME: (0, 1_000_000),
    Dimension.MASS: (0, 1_000_000),
    Dimension.AREA: (0, 10_000_000),
    Dimension.TEMPERATURE: (-40, 150),
    Dimension.DURATION: (0, 315_360_000),
}
MEANT: dict[str, str] = {
    **dict.fromkeys(("gal", "gals", "gallon", "gallons"), "a gallon is one of two sizes: say us_gal or imp_gal"),
    **dict.fromkeys(("qt", "quart", "quarts"), "say us_qt"),
    **dict.fromkeys(("pt", "pint", "pints"), "say imp_pt, or give a US pint as 0.5 us_qt"),
    **dict.fromkeys(("fl_oz", "floz", "fl oz"), "a fluid ounce is one of two sizes: say us_fl_oz or imp_fl_oz"),
    **dict.fromkeys(("ML", "Ml"), "that is a megalitre, which is never meant here; say mL for millilitres"),
    **dict.fromkeys(("ml", "cc", "cm3", "millilitre", "milliliter"), "say mL"),
    **dict.fromkeys(("l", "litre", "liter", "litres", "liters"), "say L"),
    **dict.fromkeys(("G", "gr", "gram", "grams"), "say g"),
    **dict.fromkeys(("F", "°F", "degf"), "say degF"),
    **dict.fromkeys(("C", "°C", "degc"), "say degC"),
    **dict.fromkeys(("sec", "second", "seconds"), "say s"),
    **dict.fromkeys(("m", "minute", "minutes"), "say min"),
}


class QuantityFault(ValueError):
    """An amount that cannot be read; the message says how to write it."""

    def __init__(self, code: str, message: str, **facts: Any) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.facts = facts


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with one of the closed list's units."""

    value: Decimal
    unit: str

    def __str__(self) -> str:
        return f"{self.value:f} {self.unit}"


def parse_decimal(text: object, *, signed: bool = False) -> Decimal:
    """Read a plain ASCII decimal such as ``250`` or ``0.5``: up to 12 digits, a point, up to 9 more."""
    if not isinstance(text, str):
        raise QuantityFault("number.not_text", 'write a number as a string, such as "250.0"')
    if not NUMBER.fullmatch(text):
        raise QuantityFault("number.malformed", _how_to_write(text))
    if text.startswith("-") and not signed:
        raise QuantityFault("number.negative", "a number below zero has no meaning here")
    return Decimal(text)


def to_base(value: object, unit: object, dimension: Dimension) -> Decimal:
    """Read ``value`` in ``unit`` and return it in the dimension's base unit: mL, g, cm2, degC or s."""
    checked = _check_unit(unit, dimension)
    number = parse_decimal(value, signed=dimension is Dimension.TEMPERATURE)
    amount = _convert(number, checked, base_unit(dimension), dimension)
    low, high = RANGE[dimension]
    if not low <= amount <= high:
        raise QuantityFault(
            "quantity.out_of_range",
            f"{number:f} {checked} is outside {low} to {high} {base_unit(dimension)}",
            low=str(low),
            high=str(high),
            unit=base_unit(dimension),
        )
    return amount


def from_base(amount: Decimal, unit: str, dimension: Dimension) -> Quantity:
    """Return ``amount``, given in the base unit, as a quantity in ``unit``."""
    checked = _check_unit(unit, dimension)
    return Quantity(_convert(amount, base_unit(dimension), checked, dimension), checked)


def base_unit(dimension: Dimension) -> str:
    """Return the unit that answers are given in."""
    return next(iter(UNITS[dimension]))


def tenths(ml: Decimal) -> int:
    """Count millilitres on the volume grid of 0.1 mL, rounding once, half to even."""
    return _count(ml, TENTHS_PER_ML)


def millilitres(count: int) -> Decimal:
    """Return the millilitres that a count of 0.1 mL stands for, exactly."""
    return Decimal(count).scaleb(-1, PRECISE)


def litres(count: int) -> Decimal:
    """Return the litres that a count of 0.1 mL stands for, exactly."""
    return millilitres(count) / 1000


def load_units(rolls_used: Fraction) -> int:
    """Count roll units on the load grid of 1/3600, rounding once, half to even."""
    return round(rolls_used * LOAD_PER_ROLL)


def rolls(count: int) -> Fraction:
    """Return the roll units that a count of 1/3600 stands for, exactly."""
    return Fraction(count, LOAD_PER_ROLL)


def area_units(square_cm: Decimal) -> int:
    """Count square centimetres on the area grid of 0.001 cm2, rounding once, half to even."""
    return _count(square_cm, AREA_PER_CM2)


def cm2(count: int) -> Decimal:
    """Return the square centimetres that a count of 0.001 cm2 stands for, exactly."""
    return Decimal(count).scaleb(-3, PRECISE)


def _count(amount: Decimal, per_unit: int) -> int:
    return int(PRECISE.multiply(amount, Decimal(per_unit)).to_integral_value(ROUND_HALF_EVEN))


def _check_unit(unit: object, dimension: Dimension) -> str:
    accepted = list(UNITS[dimension])
    if isinstance(unit, str) and unit in UNITS[dimension]:
        return unit
    choice = f"a {dimension} is given in {', '.join(accepted)}"
    other = next((kind for kind, units in UNITS.items() if unit in list(units)), None)
    if other is not None:
        raise QuantityFault("unit.mismatched", f"{unit} measures {other}; {choice}", units=accepted)
    hint = MEANT.get(unit) if isinstance(unit, str) else None
    raise QuantityFault("unit.unknown", f"{hint} ({choice})" if hint else f"unknown unit; {choice}", units=accepted)


def _convert(number: Decimal, unit: str, target: str, dimension: Dimension) -> Decimal:
    if unit == target:
        return number
    names = UNITS[dimension]
    with localcontext(PRECISE):
        converted: Decimal = _registry().Quantity(number, names[unit]).to(names[target]).magnitude
        return converted.quantize(Decimal("1e-22")).normalize() + 0


@cache
def _registry() -> Any:
    """Load the unit library on first use only: it costs a fifth of a second."""
    import pint  # noqa: PLC0415

    return pint.UnitRegistry(non_int_type=Decimal, cache_folder=None)


def _how_to_write(text: str) -> str:
    """Say what is wrong with a number's spelling, for the mistakes people really make."""
    hints = (
        (not text.strip(), "a number is missing"),
        ("," in text, "write the decimal sign as a point and leave thousands ungrouped"),
        ("_" in text, "leave digits ungrouped"),
        (not text.isascii(), "use the plain digits 0 to 9"),
        (re.fullmatch(r"[+-]?(nan|inf|infinity)", text, re.IGNORECASE) is not None, "that is not a number"),
        (re.fullmatch(r"[0-9.]+e[+-]?[0-9]+", text, re.IGNORECASE) is not None, "write the number out, no exponent"),
        (text != text.strip(), "leave out spaces"),
        (text.startswith("+"), "leave out the plus sign"),
        (text.startswith((".", "-.")), "put a 0 before the point"),
    )
    hint = next((words for true, words in hints if true), "up to 12 digits, a point, up to 9 more")
    return f"{hint}; a number looks like 250 or 0.5"
