"""Why a class is given or not: the rule, what was counted, the sum, the limit and the verdict."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from chemistry.science.hazard.category import Category, Endpoint
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.limit import Limit
from chemistry.science.hazard.mixture import Share
from chemistry.science.hazard.origin import Origin


@dataclass(frozen=True)
class Counted:
    """One ingredient in a sum: its share in % w/w and what it was multiplied by."""

    name: str
    cas: str
    percent: Fraction
    weight: Fraction = Fraction(1)

    @property
    def part(self) -> Fraction:
        """Return what it adds to the sum."""
        return self.percent * self.weight


@dataclass(frozen=True)
class Trail:
    """One rule at work. ``fired`` says the class is given; ``at_most`` that the limit is reached from above."""

    code: str
    endpoint: Endpoint | None
    rank: int
    statement: str
    rule: str
    counted: tuple[Counted, ...]
    total: Fraction
    limit: Fraction
    unit: str
    fired: bool
    origin: Origin
    at_most: bool = False

    @property
    def verdict(self) -> str:
        """Return the comparison in words, such as '4.587 % >= 3 %: Eye Dam. 1'."""
        reached, missed = ("<=", ">") if self.at_most else (">=", "<")
        sign, word = (reached, "") if self.fired else (missed, "not ")
        unit = f" {self.unit}" if self.unit else ""
        return f"{shown(self.total)}{unit} {sign} {shown(self.limit)}{unit}: {word}{self.code}"


def counted(share: Share, weight: Fraction = Fraction(1)) -> Counted:
    """Return an ingredient as it enters a sum."""
    return Counted(share.substance.name, share.substance.cas, share.percent, weight)


def summed(given: Category, rule: str, limit: Limit, rows: Iterable[Counted], statement: str = "") -> Trail:
    """Return the trail of an additive rule: sum of share x weight against the limit, reached means given."""
    parts = tuple(rows)
    total = sum((each.part for each in parts), Fraction(0))
    return _trail(given, rule, parts, total, limit=limit, statement=statement)


def highest(given: Category, rule: str, limit: Limit, rows: Iterable[Counted], statement: str = "") -> Trail:
    """Return the trail of a rule that looks at each ingredient alone: the greatest share x weight counts."""
    parts = tuple(rows)
    total = max((each.part for each in parts), default=Fraction(0))
    return _trail(given, rule, parts, total, limit=limit, statement=statement)


def _trail(
    given: Category, rule: str, parts: tuple[Counted, ...], total: Fraction, *, limit: Limit, statement: str
) -> Trail:
    fired = total >= limit.value
    words = statement or given.statement
    return Trail(
        given.code, given.endpoint, given.rank, words, rule, parts, total, limit.value, "%", fired, limit.origin
    )


def supplementary(
    code: str, rule: str, limit: Limit, rows: Iterable[Counted], total: Fraction, *, unit: str = "%"
) -> Trail:
    """Return the trail of a supplementary statement, which has no category."""
    parts, fired = tuple(rows), total >= limit.value
    return Trail(code, None, 0, code, rule, parts, total, limit.value, unit, fired, limit.origin)


@dataclass(frozen=True)
class Supplement:
    """A supplementary statement with its words, and the trail that led to it where there is one."""

    code: str
    words: str
    trail: Trail | None = None


@dataclass(frozen=True)
class Missing:
    """Something not known that could make the answer worse; ``code`` is ``noun.adjective``."""

    code: str
    words: str
