"""Figures in and out: plain decimal strings to exact numbers, exact numbers to short decimals."""

import re
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

# Explicit [0-9]: \d would let full-width and other scripts' digits through.
_PLAIN = re.compile(r"-?[0-9]{1,9}(\.[0-9]{1,9})?")


def decimal(text: object) -> Decimal:
    """Read a plain ASCII decimal of at most nine digits on either side; ValueError for anything else."""
    if not isinstance(text, str) or not _PLAIN.fullmatch(text):
        raise ValueError(f"{str(text)[:40]!r} is not a plain decimal number in quotes, such as '2.5'")
    return Decimal(text)


def positive(text: object) -> Fraction:
    """Read a number above 0."""
    value = Fraction(decimal(text))
    if value <= 0:
        raise ValueError(f"{text} must be above 0")
    return value


def percent(text: object) -> Fraction:
    """Read a share in percent, above 0 and at most 100."""
    value = positive(text)
    if value > 100:
        raise ValueError(f"{text} % is more than 100 %")
    return value


def shown(value: Fraction | Decimal, places: int = 3) -> Decimal:
    """Round for people, half-even, to so many decimals; needless zeros go. The rules compare what is exact."""
    exact = Decimal(value.numerator) / Decimal(value.denominator) if isinstance(value, Fraction) else value
    rounded = exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
    return Decimal(f"{rounded.normalize():f}")
