"""Dilutions as the trade writes them, ``stock`` or ``1+n``, and volumes split without losing a drop."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

STOCK = "stock"
MOST_PARTS = Decimal(500)
MOST_ML = Decimal(10) ** 9
# Explicit [0-9]: \d would let full-width and other scripts' digits through.
_SUM = re.compile(r"1\+((?:0|[1-9][0-9]{0,2})(?:\.[0-9]{1,2})?)")
_RATIO = re.compile(r"1:([1-9][0-9]{0,2}(?:\.[0-9]{1,2})?)")


class NotADilution(ValueError):
    """The text names no dilution, or could mean two; ``offers`` are dilutions that may have been meant."""

    def __init__(self, message: str, offers: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.offers = offers


@dataclass(frozen=True, order=True)
class Dilution:
    """One part of stock to ``parts`` of water: 0 is stock itself, at most 500, two decimals. ``str()`` is canonical."""

    parts: Decimal

    def __post_init__(self) -> None:
        """Refuse what ``parse`` would refuse, so that no other dilution can exist."""
        if not (self.parts.is_finite() and 0 <= self.parts <= MOST_PARTS):
            raise NotADilution(f"A dilution has 0 to {MOST_PARTS} parts of water to one of stock.")
        if self.parts != round(self.parts, 2):
            raise NotADilution("A dilution has at most two decimals, such as 1+1.25.")

    def __str__(self) -> str:
        """Write ``stock`` or ``1+n`` with no needless digit."""
        return f"1+{self.parts.normalize():f}" if self.parts else STOCK

    @property
    def stock_share(self) -> Fraction:
        """Stock in the working volume: 1/(1+n), a pure number from 1/501 to 1, exact arithmetic."""
        return 1 / (1 + Fraction(self.parts))


def parse(text: str) -> Dilution:
    """Read exactly ``stock`` or ``1+n``: n a plain ASCII decimal, 0 < n <= 500; ``1:n`` is refused, common practice."""
    if text == STOCK:
        return Dilution(Decimal(0))
    if found := _SUM.fullmatch(text):
        parts = Decimal(found[1])
        if not parts:
            raise NotADilution("1+0 has no water in it: write stock.", (STOCK,))
        return Dilution(parts)
    if found := _RATIO.fullmatch(text):
        raise _read_both_ways(Decimal(found[1]))
    raise NotADilution("Write a dilution as stock, or as 1+n with plain digits, such as 1+3.")


def _read_both_ways(number: Decimal) -> NotADilution:
    offers = tuple(str(Dilution(parts)) for parts in (number, number - 1) if 0 < parts <= MOST_PARTS)
    meant = " or ".join(offers)
    return NotADilution(
        f"1:{number} is read both ways: as one part with {number} of water, and as one part in {number} all told."
        f" Write {meant or 'it as 1+n'} instead.",
        offers,
    )


def split(total_ml: Decimal, dilution: Dilution) -> tuple[Decimal, Decimal]:
    """Return (stock, water) in mL: stock = V/(1+n) half-even to 0.1 mL, water the rest; 0 to 10^9 mL, exact."""
    stock_ml = Decimal(round(_volume(total_ml) * dilution.stock_share * 10)).scaleb(-1)
    return stock_ml, total_ml - stock_ml


def working_from_stock(stock_ml: Decimal, dilution: Dilution) -> Decimal:
    """Return the working volume V = stock x (1+n) in mL that so much stock makes; 0 to 10^9 mL, exact arithmetic."""
    _volume(stock_ml)
    return stock_ml * (1 + dilution.parts)


def _volume(ml: Decimal) -> Fraction:
    if not (ml.is_finite() and 0 <= ml <= MOST_ML):
        raise ValueError("a volume is a number of millilitres from 0 to 10^9")
    return Fraction(ml)
