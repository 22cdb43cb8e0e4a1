"""Stock per roll: a tank must hold enough developing agent for its films, however it is diluted."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from chemistry.science.dilution import Dilution, split

# A tank's mark may stand 1 % low, so a tank is judged as if it held 1 % more: common practice, no source.
MARKING = Fraction(101, 100)


@dataclass(frozen=True)
class Offer:
    """A tank and a dilution that would do."""

    tank_ml: Decimal
    dilution: Dilution

    def __str__(self) -> str:
        """Say it as one would at the bench."""
        return f"{_words(self.tank_ml)} mL at {self.dilution}"


@dataclass(frozen=True)
class StockVerdict:
    """Whether the tank holds enough stock; ``needed_ml`` and ``tank_needed_ml`` are rounded up to 0.1 mL."""

    ok: bool
    stock_ml: Decimal
    needed_ml: Decimal
    tank_needed_ml: Decimal
    offers: tuple[Offer, ...] = ()
    code: str = ""
    reason: str = ""


def needed_ml(load: Fraction, minimum_ml: Decimal) -> Decimal:
    """Return the stock a load needs: roll units x minimum, in mL, up to the next 0.1 mL; common practice, no source."""
    return _upward(load * Fraction(minimum_ml))


def rolls_allowed(tank_ml: Decimal, dilution: Dilution, minimum_ml: Decimal) -> int:
    """Return floor(1.01 x tank/(1+n) / minimum): whole roll units a tank does; mL, > 0; common practice, no source."""
    _positive(tank_ml, minimum_ml)
    return int(_stock(tank_ml, dilution) / Fraction(minimum_ml))


def judge(
    tank_ml: Decimal,
    dilution: Dilution,
    load: Fraction,
    minimum_ml: Decimal | None,
    *,
    tanks: Sequence[Decimal] = (),
    dilutions: Sequence[Dilution] = (),
) -> StockVerdict:
    """Judge tank/(1+n) x 1.01 >= roll units x minimum, in mL; common practice, no source.

    ``tanks`` and ``dilutions`` are those of this room: a refusal offers the smallest tank at this dilution and the
    weakest dilution in this tank that would do, or else the tank it takes. A formula without a minimum always passes.
    """
    _positive(tank_ml, Decimal(1) if minimum_ml is None else minimum_ml)
    if load <= 0:
        raise ValueError("a load is above zero")
    least = load * Fraction(minimum_ml or 0)
    stock_ml, _ = split(tank_ml, dilution)
    tank_needed_ml = _upward(least / dilution.stock_share)
    if _stock(tank_ml, dilution) >= least:
        return StockVerdict(True, stock_ml, _upward(least), tank_needed_ml)
    offers = tuple(_offers(tank_ml, dilution, least, tanks, dilutions)) or (Offer(tank_needed_ml, dilution),)
    reason = (
        f"This load needs {_words(_upward(least))} mL of stock whatever the dilution; {_words(tank_ml)} mL at"
        f" {dilution} holds {_words(stock_ml)} mL."
    )
    return StockVerdict(False, stock_ml, _upward(least), tank_needed_ml, offers, "tank.short_of_stock", reason)


def _offers(
    tank_ml: Decimal, dilution: Dilution, least: Fraction, tanks: Sequence[Decimal], dilutions: Sequence[Dilution]
) -> Iterator[Offer]:
    larger = [tank for tank in tanks if _stock(tank, dilution) >= least]
    stronger = [each for each in dilutions if _stock(tank_ml, each) >= least]
    if larger:
        yield Offer(min(larger), dilution)
    if stronger:
        yield Offer(tank_ml, max(stronger))
    if larger or stronger:
        return
    both = [(tank, each) for tank in tanks for each in dilutions if _stock(tank, each) >= least]
    if both:
        yield Offer(*min(both, key=lambda pair: (pair[0], -pair[1].parts)))


def _stock(tank_ml: Decimal, dilution: Dilution) -> Fraction:
    return Fraction(tank_ml) * MARKING * dilution.stock_share


def _upward(ml: Fraction) -> Decimal:
    return Decimal(ceil(ml * 10)).scaleb(-1)


def _positive(*amounts: Decimal) -> None:
    if not all(each.is_finite() and each > 0 for each in amounts):
        raise ValueError("a tank and a minimum are millilitres above zero")


def _words(ml: Decimal) -> str:
    return f"{ml.normalize():f}"
