"""Silver that a fixer takes out of film and paper: a range from coated area, computed and never measured."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from chemistry.science.formula import Material

DISSOLVED = Decimal("0.7")  # about 30 % of the coated silver is developed and stays, from memory
COATED: Mapping[Material, tuple[Decimal, Decimal, Decimal]] = MappingProxyType(
    {
        Material.FILM: (Decimal(3), Decimal("4.5"), Decimal(7)),
        Material.PAPER: (Decimal(1), Decimal("1.5"), Decimal(2)),
    }
)
"""Grams of silver coated on a square metre: low, nominal, high; from memory."""
_TENTH = Decimal("0.1")


@dataclass(frozen=True)
class Silver:
    """Milligrams of silver: the nominal figure and the range it lies in."""

    low_mg: Decimal
    nominal_mg: Decimal
    high_mg: Decimal


def dissolved(area_cm2: Decimal, material: Material) -> Silver:
    """Milligrams of silver dissolved: area x coated silver x 0.7 / 10, cm² and g/m² in, to 0.1 mg; area of 0 or more.

    Film 4.5 g/m² (3-7), paper 1.5 (1-2); 20 rolls of 135-36 in a litre come to 3.57 g. Source: from memory.
    """
    if not (area_cm2.is_finite() and area_cm2 >= 0):
        raise ValueError("an area is a number of cm², 0 or more")
    low, nominal, high = ((area_cm2 * coated * DISSOLVED / 10).quantize(_TENTH) for coated in COATED[material])
    return Silver(low, nominal, high)
