"""What a roll costs: a standard rate frozen at check-in, in minor units of the darkroom's currency."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

# Currencies whose smallest unit is not the hundredth, ISO 4217 (from memory).
PLACES = dict.fromkeys(("CLP", "ISK", "JPY", "KRW", "PYG", "UGX", "VND", "XAF", "XOF", "XPF"), 0) | dict.fromkeys(
    ("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3
)


@dataclass(frozen=True)
class Rate:
    """The standard rate as frozen: exact minor units per roll unit, or per millilitre of stock."""

    per: Literal["roll", "ml"]
    minor: Fraction


def per_litre(price_minor: int, makes_ml: Decimal) -> Fraction:
    """Minor units per litre of stock: price x 1000 / mL the pack makes. Valid above 0 mL. Source: arithmetic."""
    return price_minor * 1000 / Fraction(makes_ml)


def one_shot_per_roll(price_minor: int, makes_ml: Decimal, stock_ml_per_roll: Decimal) -> Fraction:
    """Minor units per roll when ``stock_ml_per_roll`` is poured away after it. Valid above 0 mL. Source: arithmetic."""
    return per_litre(price_minor, makes_ml) * Fraction(stock_ml_per_roll) / 1000


def reuse_per_roll(price_minor: int, makes_ml: Decimal, rolls_per_litre: Decimal) -> Fraction:
    """Minor units per roll when a litre does ``rolls_per_litre``. Valid above 0 rolls. Source: arithmetic."""
    return per_litre(price_minor, makes_ml) / Fraction(rolls_per_litre)


def cheaper_percent(one: Fraction, other: Fraction) -> Decimal:
    """By how many per cent ``one`` is cheaper than ``other``: 100 (1 - one/other); below 0 when it is dearer.

    Valid for ``other`` above 0. Source: arithmetic; 3.8 L at 12 against 5 L at 20 is 21 %.
    """
    saved = 100 * (1 - one / other)
    return (Decimal(saved.numerator) / saved.denominator).quantize(Decimal("0.1"))


def charge(rate: Rate, load: Fraction, stock_ml: Decimal) -> int:
    """A member's charge in minor units: rate x load (roll units) or rate x stock used (mL), half to even.

    Source: arithmetic; the choice of basis is the darkroom's.
    """
    return round(rate.minor * (load if rate.per == "roll" else Fraction(stock_ml)))


def share_out(total_minor: int, weights: Sequence[int]) -> list[int]:
    """Split minor units by weight so that the shares add up exactly: largest remainder, ties to the earlier.

    Valid for weights of 0 or more, not all 0; a refund (below 0) splits as its opposite. Source: Hamilton's method.
    """
    whole = sum(weights)
    if min(weights, default=0) < 0 or whole <= 0:
        raise ValueError("shares need weights of 0 or more, and at least one above 0")
    if total_minor < 0:
        return [-share for share in share_out(-total_minor, weights)]
    shares = [total_minor * weight // whole for weight in weights]
    by_remainder = sorted(range(len(weights)), key=lambda at: -(total_minor * weights[at] % whole))
    for at in by_remainder[: total_minor - sum(shares)]:
        shares[at] += 1
    return shares


def major(minor: int, currency: str) -> str:
    """Return minor units as they are read: 1200 of EUR is ``12.00``, of JPY ``1200``, of KWD ``1.200``.

    The places after the point are those of ISO 4217 (from memory); a code not listed there has two.
    """
    places = PLACES.get(currency, 2)
    return f"{Decimal(minor).scaleb(-places):.{places}f}"
