"""The customary date: how long a liquid is trusted by the calendar, from the history of its vessel."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TypeVar

from chemistry.science.formula import Keeping

STOCK = "stock"
FAILED = "failed its test on"
TIGHT_HEADSPACE = Decimal("0.10")
Day = TypeVar("Day", date, datetime)


@dataclass(frozen=True)
class History:
    """What a liquid has been through, by name as ``use_by`` asks for it: ``use_by(keeping, **vars(history))``.

    ``part_full_since`` is the first day the vessel stood part-full; ``diluted_at`` is set for a working dilution only.
    """

    made_on: date
    part_full_since: date | None = None
    diluted_at: datetime | None = None
    last_pass_on: date | None = None
    failed_on: date | None = None


@dataclass(frozen=True)
class UseBy:
    """The last day the liquid is trusted; no ``day`` when nothing is promised or a test failed.

    ``rule`` is one of full, part_full, diluted, tested, not_promised, failed. ``until`` is the exact end for a working
    dilution, whose life is counted in hours.
    """

    day: date | None
    rule: str
    why: str
    until: datetime | None = None


def use_by(
    keeping: Keeping,
    *,
    made_on: date,
    part_full_since: date | None = None,
    diluted_at: datetime | None = None,
    last_pass_on: date | None = None,
    failed_on: date | None = None,
    dilution: str = STOCK,
) -> UseBy:
    """Use-by day: min(made + full months, part-full since + part-full months), or test day + tested days.

    Calendar months are clipped to the month's end. A passed test counts from its own day however old the liquid is,
    and never takes days away: the later of the two dates holds, so nobody is punished for testing early. Drawing after
    a pass cannot shorten its date, since the tested days are fewer than the part-full months. A failed test is final.
    Source: common practice, no source (MQ-borax stock: 6 months full, 2 part-full, 14 days from a passed test).
    """
    if failed_on is not None:
        return UseBy(None, "failed", f"{FAILED} {failed_on:%d %b %Y}: stopped, whatever the date says")
    if dilution == STOCK:
        custom, longest = _stock(keeping, made_on, part_full_since), None
    else:
        custom, longest = _diluted(keeping, dilution, diluted_at), keeping.diluted.get(dilution)
    tested = _tested(keeping.tested_days, last_pass_on, longest, dilution)
    if tested is None or tested.day is None or (custom.day is not None and custom.day >= tested.day):
        return custom
    return tested


def combine(first: History, second: History) -> History:
    """The history of two liquids in one vessel: the oldest date, the first part-full day, the failure of either.

    A passed test counts only if both passed, from the earlier day, because the strip saw one of them alone; so
    topping up never makes anything younger. Source: common practice, no source.
    """
    passes = (first.last_pass_on, second.last_pass_on)
    return History(
        made_on=min(first.made_on, second.made_on),
        part_full_since=_earliest(first.part_full_since, second.part_full_since),
        diluted_at=_earliest(first.diluted_at, second.diluted_at),
        last_pass_on=None if None in passes else _earliest(*passes),
        failed_on=_earliest(first.failed_on, second.failed_on),
    )


def is_part_full(contents_ml: Decimal, nominal_ml: Decimal) -> bool:
    """Whether the headspace is over a tenth of the nominal volume (mL).

    Why a tenth: one filling of that air costs an MQ-borax stock 2.1 % of its hydroquinone at worst, while at a quarter
    of the volume it costs 6.4 %; and no bottle is filled to the brim. Source: our choice, from ``oxidation``.
    """
    return nominal_ml - contents_ml > TIGHT_HEADSPACE * nominal_ml


def tray_until(keeping: Keeping, filled_at: datetime) -> datetime | None:
    """When a tray filled at ``filled_at`` is done: + the formula's tray hours; None if it promises nothing.

    Source: common practice, no source; the hours belong to the formula.
    """
    return None if keeping.tray_hours is None else filled_at + timedelta(hours=keeping.tray_hours)


def months_later(day: date, months: int) -> date:
    """The same day of the month ``months`` on, clipped to the month's end (31 Aug + 6 is 28 or 29 Feb)."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def _stock(keeping: Keeping, made_on: date, part_full_since: date | None) -> UseBy:
    if keeping.full_months is None:
        return UseBy(None, "not_promised", "the formula promises no keeping time: test before use")
    full = months_later(made_on, keeping.full_months)
    if part_full_since is not None and keeping.part_full_months is not None:
        part = months_later(part_full_since, keeping.part_full_months)
        if part < full:
            why = f"part-full since {part_full_since:%d %b %Y}: {_months(keeping.part_full_months)} from then"
            return UseBy(part, "part_full", why)
    return UseBy(full, "full", f"made on {made_on:%d %b %Y}: {_months(keeping.full_months)} full and tight")


def _months(number: int) -> str:
    return "a month" if number == 1 else f"{number} months"


def _diluted(keeping: Keeping, dilution: str, diluted_at: datetime | None) -> UseBy:
    hours = keeping.diluted.get(dilution)
    if hours is None:
        return UseBy(None, "not_promised", f"nothing is promised for {dilution}: use it at once and do not keep it")
    if diluted_at is None:
        return UseBy(None, "not_promised", f"nobody recorded when {dilution} was made, so nothing can be promised")
    until = diluted_at + timedelta(hours=hours)
    return UseBy(until.date(), "diluted", f"{dilution} is kept {hours} hours from when it was diluted", until)


def _tested(days: int | None, passed_on: date | None, longest_hours: int | None, dilution: str) -> UseBy | None:
    """A test of a dilution promises no longer than a fresh one is promised; where that is nothing, nothing."""
    if days is None or passed_on is None or (dilution != STOCK and longest_hours is None):
        return None
    if longest_hours is not None:
        days = min(days, longest_hours // 24)
    return UseBy(passed_on + timedelta(days=days), "tested", f"passed its test on {passed_on:%d %b %Y}: {days} days")


def _earliest(first: Day | None, second: Day | None) -> Day | None:
    known = [day for day in (first, second) if day is not None]
    return min(known, default=None)
