"""Load as people read it: roll units with four decimals, from counts on the 1/3600 grid."""

from decimal import Decimal
from fractions import Fraction

from chemistry.science.film import GRID

_SHOWN = Decimal("0.0001")


def text(count: int) -> str:
    """Return a count of 1/3600 roll unit in roll units, half-even to 0.0001, such as ``0.6667``; exact arithmetic."""
    return f"{(Decimal(count) / GRID).quantize(_SHOWN):f}"


def words(units: Fraction) -> str:
    """Return roll units for a sentence, half-even to 0.01 with no needless digit: ``2``, ``0.67``."""
    return f"{(Decimal(units.numerator) / units.denominator).quantize(Decimal('0.01')).normalize():f}"
