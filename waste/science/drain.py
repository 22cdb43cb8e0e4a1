"""May this go down the drain: the site's own rule against one release. Dilution is shown, never proposed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Any

SILVER = "7440-22-4"
TENTHS_PER_LITRE = 10_000
NO_RULE = "drain.no_rule"
STREAM = "drain.stream_not_allowed"
DAILY = "drain.daily_volume"
PH_UNKNOWN = "drain.ph_unknown"
PH = "drain.ph_outside"
DILUTION = "drain.dilution_short"
LIMIT = "drain.over_limit"
UNMEASURED = "drain.not_known"

REASONS = {
    NO_RULE: "No drain rule is recorded here, so nothing goes down the drain.",
    STREAM: "The drain rule does not allow this kind of waste.",
    LIMIT: "After dilution it is above a limit of the drain rule.",
    UNMEASURED: "The drain rule limits a substance, and nobody has said how much of it is in here.",
    PH: "Its pH lies outside what the drain rule allows.",
    PH_UNKNOWN: "The drain rule limits the pH, and none was measured.",
    DILUTION: "The drain rule asks for more water along with it.",
    DAILY: "This goes over the volume the drain rule allows for a day.",
}


@dataclass(frozen=True)
class Limit:
    """The most of one substance at the point of discharge, in mg/L."""

    cas: str
    name: str
    mg_per_l: Decimal


@dataclass(frozen=True)
class Allowed:
    """A drain rule. Volume in 0.1 mL; ``dilution`` is how many times the volume it must make, at least."""

    streams: tuple[str, ...]
    daily_volume: int
    ph_low: Decimal
    ph_high: Decimal
    dilution: int
    limits: tuple[Limit, ...] = ()


@dataclass(frozen=True)
class Released:
    """What is let down: volumes in 0.1 mL, ``figures`` in mg/L before dilution by CAS number, the high end of ranges.

    ``day_so_far`` has gone down today already. ``complete``: what was mixed in is known, so that what is not named is
    not in it; silver comes from film and paper and is never known by that.
    """

    stream: str | None
    volume: int
    water: int
    ph: Decimal | None
    figures: Mapping[str, Decimal]
    day_so_far: int = 0
    complete: bool = False

    @property
    def fold(self) -> Decimal:
        """Return how many times its volume it becomes."""
        return Decimal(self.volume + self.water) / self.volume


@dataclass(frozen=True)
class Compared:
    """One substance against its limit: mg/L before and after, None where not known, and the dilution it would take."""

    limit: Limit
    before: Decimal | None
    after: Decimal | None
    fold_needed: int | None

    @property
    def over(self) -> bool:
        """Say whether it is above its limit; exactly at it is within."""
        return self.after is not None and self.after > self.limit.mg_per_l


@dataclass(frozen=True)
class Outcome:
    """The rules a release breaks, worst first, and every substance compared."""

    flags: tuple[str, ...]
    compared: tuple[Compared, ...] = ()

    @property
    def allowed(self) -> bool:
        """Say whether it may be planned."""
        return not self.flags


def judge(rule: Allowed | None, release: Released) -> Outcome:
    """Judge a release of volume above 0: c = c0 x volume / (volume + water), every bound inclusive. Source: derived."""
    if rule is None:
        return Outcome((NO_RULE,))
    compared = tuple(_compare(each, release) for each in rule.limits)
    ph = release.ph
    broken = {
        STREAM: release.stream not in rule.streams,
        LIMIT: any(each.over for each in compared),
        UNMEASURED: any(each.before is None for each in compared),
        PH: ph is not None and not rule.ph_low <= ph <= rule.ph_high,
        PH_UNKNOWN: ph is None,
        DILUTION: release.fold < rule.dilution,
        DAILY: release.day_so_far + release.volume > rule.daily_volume,
    }
    return Outcome(tuple(code for code, is_broken in broken.items() if is_broken), compared)


def figures(origin: Mapping[str, Any], volume: int) -> dict[str, Decimal]:
    """Return mg/L by CAS number from a snapshot of so much (0.1 mL): what was mixed in, silver at the high end.

    What somebody measured prevails.
    """
    found = {cas: Decimal(grams) * 1000 for cas, grams in origin.get("g_per_l", {}).items()}
    if silver := origin.get("silver_mg"):
        found[SILVER] = Decimal(silver["high"]) * TENTHS_PER_LITRE / volume
    return found | {cas: Decimal(each) for cas, each in origin.get("mg_per_l", {}).items()}


def needed(before: Decimal, most: Decimal) -> int:
    """Return how many times the volume must grow to come down to a limit: c0 / limit rounded up, at least 1."""
    return max(int((before / most).to_integral_value(ROUND_CEILING)), 1)


def words(outcome: Outcome) -> Sequence[str]:
    """Return what is over its limit, with the dilution it would take."""
    return [
        f"{each.limit.name}: {each.after:.4g} mg/L after dilution, {each.limit.mg_per_l:f} allowed;"
        f" it would take {each.fold_needed} times the volume."
        for each in outcome.compared
        if each.over
    ]


def _compare(limit: Limit, release: Released) -> Compared:
    absent = Decimal(0) if release.complete and limit.cas != SILVER else None
    before = release.figures.get(limit.cas, absent)
    if before is None:
        return Compared(limit, None, None, None)
    return Compared(limit, before, before / release.fold, needed(before, limit.mg_per_l))
