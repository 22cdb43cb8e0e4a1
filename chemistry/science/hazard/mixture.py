"""A mixture in percent by weight, with ranges, and the two points of it that are judged: the best and the worst."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.limit import PH_ACID, PH_BASE
from chemistry.science.hazard.substance import Substance


class Regime(StrEnum):
    """The rules applied. UN GHS counts acute toxicity Category 5 and has no EUH statements."""

    CLP = "clp"
    UN_GHS = "un_ghs"


class Rest(StrEnum):
    """What fills a composition up to 100 %: water, something its supplier does not classify, or nobody knows."""

    WATER = "water"
    HARMLESS = "harmless"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Policy:
    """What may be chosen: the regime, and whether acid gas is screened for although the law sets no limit."""

    regime: Regime = Regime.CLP
    gas_screen: bool = True


@dataclass(frozen=True)
class Ph:
    """The pH of this liquid between two bounds; ``shown_mild``: acid reserve and in-vitro tests both say harmless."""

    low: Decimal
    high: Decimal
    shown_mild: bool = False


@dataclass(frozen=True)
class Part:
    """One ingredient between two shares in % w/w."""

    substance: Substance
    low: Fraction
    high: Fraction


@dataclass(frozen=True)
class Share:
    """One ingredient at one share in % w/w."""

    substance: Substance
    percent: Fraction


@dataclass(frozen=True, eq=False)
class Point:
    """One composition without ranges, as the rules read it.

    ``extreme_ph`` is the pH at or beyond 2 or 11.5, None when there is none; what is not listed is water.
    """

    shares: tuple[Share, ...]
    solid: bool = False
    extreme_ph: Decimal | None = None
    policy: Policy = Policy()


UNNAMED = Substance(cas="", name="what is not named", no_data=frozenset(Endpoint))


@dataclass(frozen=True, eq=False)
class Mixture:
    """Ingredients in % w/w as handled, ``UNNAMED`` among them where nobody says what fills it up.

    ``assumptions`` and ``changes`` say in words how it was worked out.
    """

    parts: tuple[Part, ...]
    solid: bool = False
    ph: Ph | None = None
    assumptions: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()

    def worst(self, policy: Policy) -> Point:
        """Return every ingredient at the most it can be beside the least of the others."""
        lows = sum((each.low for each in self.parts), Fraction(0))
        shares = [Share(each.substance, min(each.high, 100 - lows + each.low)) for each in self.parts]
        return self._point(shares, policy, _extreme(self.ph, any_end=True))

    def best(self, policy: Policy) -> Point:
        """Return every ingredient at the least it can be."""
        shares = [Share(each.substance, each.low) for each in self.parts]
        return self._point(shares, policy, _extreme(self.ph, any_end=False))

    @property
    def ranged(self) -> bool:
        """Say whether any share or the pH is a range, so that best and worst can differ."""
        return any(each.low != each.high for each in self.parts) or _is_range(self.ph)

    def _point(self, shares: list[Share], policy: Policy, extreme: Decimal | None) -> Point:
        ordered = sorted((each for each in shares if each.percent > 0), key=lambda each: each.substance.cas)
        return Point(tuple(ordered), self.solid, extreme, policy)


def is_extreme(ph: Decimal) -> bool:
    """Say whether a pH counts as corrosive by itself: <= 2 or >= 11.5. Source: CLP Annex I 3.2.3.1.2, read."""
    return ph <= PH_ACID.value or ph >= PH_BASE.value


def _extreme(ph: Ph | None, *, any_end: bool) -> Decimal | None:
    if ph is None or ph.shown_mild:
        return None
    ends = [each for each in (ph.low, ph.high) if is_extreme(each)]
    same_side = ph.high <= PH_ACID.value or ph.low >= PH_BASE.value
    return ends[0] if ends and (any_end or same_side) else None


def _is_range(ph: Ph | None) -> bool:
    return ph is not None and ph.low != ph.high
