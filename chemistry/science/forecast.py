"""Looking ahead: use in a week with its spread, how long a stock lasts, what to mix, what to order, what is lost.

Amounts are millilitres of stock, time is in open weeks: weeks in which people work. Weekly use is taken as normal and
each week as independent of the others. Arithmetic in floating point: these are estimates, no ledger rests on them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt
from statistics import NormalDist, mean, stdev

WEEK = 7
LIKELY = 0.80  # a range that is stated holds so much of what may happen: our choice
SERVICE = 0.95  # how often there shall be enough: our choice
QUIET_WEEKS = 2  # so many weeks without any use in the whole room are taken for a break: our choice
FURTHEST_DAYS = 730
EMPTY_ML = 1e-6
_NORMAL = NormalDist()


@dataclass(frozen=True)
class Week:
    """Seven days and the mL used in them; ``why`` says why they are left out, '' when they count."""

    first_day: date
    used_ml: float
    why: str = ""


@dataclass(frozen=True)
class Demand:
    """Use in an open week: mean and sample standard deviation in mL. ``weeks`` seen; None: both are known for sure."""

    mean_ml: float
    spread_ml: float
    weeks: int | None = None


@dataclass(frozen=True)
class Cover:
    """Open weeks a stock lasts: the likely range and the middle; None has no end."""

    early: float
    middle: float
    late: float | None


@dataclass(frozen=True)
class Lot:
    """Stock that is good up to and with a day; None: nobody says until when."""

    ml: float
    last_day: date | None


@dataclass(frozen=True)
class Course:
    """How a stock falls: what is usable at the end of each day from the first, and what died unused."""

    first_day: date
    left_ml: tuple[float, ...]
    lost_ml: float

    def at_most(self, level_ml: float) -> date | None:
        """Return the first day that ends with no more than this; None where it never comes within two years."""
        ends = (index for index, left in enumerate(self.left_ml) if left <= level_ml + 1e-9)
        index = next(ends, None)
        return None if index is None else self.first_day + timedelta(days=index)


@dataclass(frozen=True)
class Size:
    """One size of packet and what one costs in minor units, None where nobody recorded a price."""

    makes_ml: float
    minor: float | None


@dataclass(frozen=True)
class Choice:
    """A packet mixed now: the mL expected to be used and to be poured away, and minor units per litre really used."""

    size: Size
    used_ml: float
    lost_ml: float
    minor_per_litre: float | None


def closed_by(first_days: Sequence[date], breaks: Sequence[tuple[str, date, date]], used: Iterable[date]) -> list[str]:
    """Return for each week why it is left out, or ''. ``used``: days on which anything was used in the whole room.

    A week counts as a break when a declared one (name, first day, last day) takes four of its days or more, or when
    it is one of two or more weeks in a row without any use in the room. Source: our choice.
    """
    busy = {_week_of(day, first_days) for day in used}
    quiet = [index not in busy for index in range(len(first_days))]
    return [
        _declared(first, breaks) or ("nothing was used in the room" if _in_row(quiet, index) else "")
        for index, first in enumerate(first_days)
    ]


def demand(weeks: Sequence[Week]) -> Demand | None:
    """Return mean and sample standard deviation (n - 1) of the weeks that count, mL; None below two of them.

    Source: definition of both.
    """
    counted = [each.used_ml for each in weeks if not each.why]
    if len(counted) < 2:
        return None
    return Demand(mean(counted), stdev(counted), len(counted))


def spread(seen: Demand, ahead: float) -> float:
    """Return the standard deviation of use in ``ahead`` open weeks, mL: s sqrt(T + T^2/n); s sqrt(T) if it is known.

    The second term is that of the mean, which n weeks only estimate. Valid for T >= 0. Source: variance of a sum of
    independent weeks and of their sample mean, textbook statistics.
    """
    return seen.spread_ml * sqrt(ahead + (ahead * ahead / seen.weeks if seen.weeks else 0))


def cover(seen: Demand, stock_ml: float, likely: float = LIKELY) -> Cover | None:
    """Return how many open weeks a stock lasts: T where m T -+ z s sqrt(T + T^2/n) = S, the middle S/m.

    A quadratic in T: (m^2 - z^2 s^2/n) T^2 - (2 S m + z^2 s^2) T + S^2 = 0. Valid for m > 0, else None; the late end
    is None where use is so uneven that there is none. Source: derived from ``spread``.
    """
    if seen.mean_ml <= 0:
        return None
    noise = (_NORMAL.inv_cdf((1 + likely) / 2) * seen.spread_ml) ** 2
    square = seen.mean_ml**2 - (noise / seen.weeks if seen.weeks else 0)
    linear = 2 * stock_ml * seen.mean_ml + noise
    root = sqrt(max(linear * linear - 4 * square * stock_ml**2, 0))
    early = 2 * stock_ml**2 / (linear + root) if linear + root else 0.0
    late = (linear + root) / (2 * square) if square > 0 else None
    return Cover(early, stock_ml / seen.mean_ml, late)


def reorder_point(seen: Demand, lead_weeks: float, service: float = SERVICE) -> float:
    """Return the stock at which to act: m L + z sd(L), mL, L open weeks until more is there, z for the service.

    Valid for 0.5 <= service < 1. Source: reorder point with safety stock, operations-management textbooks.
    """
    return seen.mean_ml * lead_weeks + _NORMAL.inv_cdf(service) * spread(seen, lead_weeks)


def lost(seen: Demand, life_weeks: float, quantity_ml: float) -> float:
    """Return what is expected to be left of a quantity when its life is over: (Q - m) F(z) + s f(z), z = (Q - m)/s.

    m and s are those of the use in its life; mL, at most Q. Source: normal loss function, newsvendor model.
    """
    middle, deviation = seen.mean_ml * life_weeks, spread(seen, life_weeks)
    if deviation == 0:
        return max(quantity_ml - middle, 0.0)
    z = (quantity_ml - middle) / deviation
    return min(max((quantity_ml - middle) * _NORMAL.cdf(z) + deviation * _NORMAL.pdf(z), 0.0), quantity_ml)


def choices(seen: Demand, life_weeks: float, sizes: Iterable[Size]) -> list[Choice]:
    """Return what mixing one packet of each size would come to, the best first.

    Best is the least minor units per litre really used, Q less ``lost``; where a price is not known, the least share
    poured away, of equals the larger. Source: expected value; the criterion is our choice.
    """
    found = []
    for size in sizes:
        gone = lost(seen, life_weeks, size.makes_ml)
        used = size.makes_ml - gone
        each = size.minor * 1000 / used if size.minor is not None and used > 0 else None
        found.append(Choice(size, used, gone, each))
    priced = all(each.minor_per_litre is not None for each in found)
    return sorted(found, key=_by_price if priced else _by_loss)


def needed(seen: Demand, weeks: float, service: float = SERVICE) -> float:
    """Return what so many open weeks take, with enough beside it for the service: m T + z sd(T), mL."""
    return reorder_point(seen, weeks, service)


def fall(lots: Iterable[Lot], per_week_ml: float, today: date, closed: Sequence[tuple[date, date]]) -> Course:
    """Return how lots fall from today on, a seventh of a week's use each open day, the first to die used first.

    ``closed``: breaks by first and last day, in which liquid only ages. mL; two years are looked ahead.
    """
    rest = sorted((each.last_day or date.max, each.ml) for each in lots)
    gone, left = 0.0, []
    for number in range(FURTHEST_DAYS):
        day = today + timedelta(days=number)
        gone += sum(ml for last, ml in rest if last < day)
        wanted = 0.0 if is_closed(day, closed) else per_week_ml / WEEK
        rest = _drawn([each for each in rest if each[0] >= day], wanted)
        left.append(sum(ml for _, ml in rest))
        if not rest:
            break
    return Course(today, tuple(left), gone)


def open_weeks(first_day: date, days: int, closed: Sequence[tuple[date, date]]) -> float:
    """Return how many open weeks there are in so many days from a day on."""
    return sum(not is_closed(first_day + timedelta(days=each), closed) for each in range(days)) / WEEK


def is_closed(day: date, closed: Sequence[tuple[date, date]]) -> bool:
    """Tell whether a day lies in a break."""
    return any(first <= day <= last for first, last in closed)


def _drawn(rest: Iterable[tuple[date, float]], wanted: float) -> list[tuple[date, float]]:
    """Take so much off the lots in their order and leave out what is empty."""
    left = []
    for last, ml in rest:
        taken = min(ml, wanted)
        wanted -= taken
        if ml - taken > EMPTY_ML:
            left.append((last, ml - taken))
    return left


def _by_price(each: Choice) -> float:
    return each.minor_per_litre or 0.0


def _by_loss(each: Choice) -> tuple[float, float]:
    return round(each.lost_ml / each.size.makes_ml, 3), -each.size.makes_ml


def _week_of(day: date, first_days: Sequence[date]) -> int | None:
    return next((index for index, first in enumerate(first_days) if 0 <= (day - first).days < WEEK), None)


def _declared(first: date, breaks: Sequence[tuple[str, date, date]]) -> str:
    days = [first + timedelta(days=each) for each in range(WEEK)]
    for name, begins, ends in breaks:
        if sum(begins <= day <= ends for day in days) * 2 > WEEK:
            return name
    return ""


def _in_row(quiet: Sequence[bool], index: int) -> bool:
    """Tell whether a week is one of ``QUIET_WEEKS`` or more quiet ones in a row."""
    if not quiet[index]:
        return False
    first, last = index, index
    while first > 0 and quiet[first - 1]:
        first -= 1
    while last + 1 < len(quiet) and quiet[last + 1]:
        last += 1
    return last - first + 1 >= QUIET_WEEKS
