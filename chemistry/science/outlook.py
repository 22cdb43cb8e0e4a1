"""What lies ahead of one formula: until when its stock lasts, what to mix, what to order, what will be poured away."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from chemistry.science import forecast
from chemistry.science.forecast import Choice, Course, Demand, Lot, Size

ASSUMED = (
    "Use in an open week is taken as normal and one week as independent of the next; a likely range holds 80 %.",
    "Stock that dies first is used first, and a reused bath counts as the share of its roll units that is left.",
    "Acting at the level stated leaves enough in 95 of 100 waits.",
    "A packet, sealed or new, counts for what is expected to be used of it in its part-full life once it is mixed; kept"
    " in full and tight bottles it lives longer and gives more.",
    "A week that is partly a break counts whole unless most of it is one.",
)


@dataclass(frozen=True)
class Supply:
    """What there is of a formula, mL of stock.

    ``waiting`` is mixed and not released; ``sealed`` what packs would make; ``coming``: a batch is asked for or being
    mixed. ``life_days``: how long a new packet is trusted part-full.
    """

    released: tuple[Lot, ...] = ()
    waiting_ml: float = 0
    to_test_ml: float = 0
    sealed: tuple[Lot, ...] = ()
    sizes: tuple[Size, ...] = ()
    life_days: int | None = None
    coming: bool = False

    @property
    def stock(self) -> tuple[Lot, ...]:
        """Return what is mixed: released, or waiting for it."""
        return (*self.released, *([Lot(self.waiting_ml, None)] if self.waiting_ml else ()))


@dataclass(frozen=True)
class Asked:
    """From when it is looked ahead, the breaks to come, and how many open weeks are meant by each word."""

    today: date
    closed: tuple[tuple[date, date], ...] = ()
    term_weeks: int = 12
    delivery_weeks: int = 2
    mixing_weeks: int = 1


@dataclass(frozen=True)
class RunsOut:
    """The day nothing usable is left: the likely range and the middle; None is not within two years."""

    stock_ml: float
    early: date | None
    middle: date | None
    late: date | None


@dataclass(frozen=True)
class Mix:
    """The next packet: below which level and by which day, how long it lives, the sizes from the best."""

    at_ml: float
    by: date | None
    life_weeks: float | None
    choices: tuple[Choice, ...]


@dataclass(frozen=True)
class Order:
    """What to order for a term: the need with what is usable of it, packs of a size, and by which day at the latest.

    ``each_ml``: what is expected to be used of one pack.
    """

    at_ml: float
    by: date | None
    need_ml: float
    usable_ml: float
    amount_ml: float
    size: Size | None
    each_ml: float
    packs: int


@dataclass(frozen=True)
class Ahead:
    """All that is computed for a formula from its use and what there is of it."""

    released: RunsOut
    with_packs: RunsOut
    mix: Mix
    order: Order
    lost_ml: float
    lost_of_next_ml: float | None


def ahead(seen: Demand, supply: Supply, asked: Asked) -> Ahead:
    """Return what lies ahead. Formulas and sources stand in ``forecast``; mL of stock and open weeks."""
    stock = _falls(seen, supply.stock, asked)
    released = _falls(seen, supply.released, asked) if supply.waiting_ml else stock
    mix = _mix(seen, supply, asked, stock)
    lots = (*supply.stock, *(Lot(_used(seen, mix, each.ml), each.last_day) for each in supply.sealed))
    whole = _falls(seen, lots, asked)
    unused = sum(each.ml for each in (*supply.stock, *supply.sealed)) - sum(each.ml for each in lots)
    return Ahead(
        released=_runs_out(seen, supply.released, asked, released),
        with_packs=_runs_out(seen, lots, asked, whole),
        mix=mix,
        order=_order(seen, supply, asked, (whole, sum(each.ml for each in lots) - whole.lost_ml), mix),
        lost_ml=whole.lost_ml + unused,
        lost_of_next_ml=mix.choices[0].lost_ml if mix.choices else None,
    )


def _used(seen: Demand, mix: Mix, makes_ml: float) -> float:
    """Return what is expected to be used of a packet once it is mixed; all of it where its life is not known."""
    return makes_ml if mix.life_weeks is None else makes_ml - forecast.lost(seen, mix.life_weeks, makes_ml)


def _falls(seen: Demand, lots: Sequence[Lot], asked: Asked) -> Course:
    return forecast.fall(lots, seen.mean_ml, asked.today, asked.closed)


def _runs_out(seen: Demand, lots: Sequence[Lot], asked: Asked, course: Course) -> RunsOut:
    """Let the stock fall by the use that would end it at either end of its likely cover; ``course``: by the mean."""
    stock = sum(each.ml for each in lots)
    found = forecast.cover(seen, stock)
    if found is None or stock <= 0:
        day = asked.today if stock <= 0 else course.at_most(0)
        return RunsOut(stock, day, day, day)
    rates = (stock / found.early, stock / found.late if found.late else 0.0)
    early, late = (forecast.fall(lots, rate, asked.today, asked.closed).at_most(0) for rate in rates)
    return RunsOut(stock, early, course.at_most(0), late)


def _mix(seen: Demand, supply: Supply, asked: Asked, stock: Course) -> Mix:
    level = forecast.reorder_point(seen, asked.mixing_weeks)
    by = stock.at_most(level) if seen.mean_ml > 0 else None
    if supply.life_days is None or seen.mean_ml <= 0:
        return Mix(level, by, None, ())
    life = forecast.open_weeks(by or asked.today, supply.life_days, asked.closed)
    return Mix(level, by, life, tuple(forecast.choices(seen, life, supply.sizes)) if life else ())


def _order(seen: Demand, supply: Supply, asked: Asked, whole: tuple[Course, float], mix: Mix) -> Order:
    course, usable = whole
    level = forecast.reorder_point(seen, asked.delivery_weeks + asked.mixing_weeks)
    by = course.at_most(level) if seen.mean_ml > 0 else None
    need = forecast.needed(seen, asked.term_weeks) if seen.mean_ml > 0 else 0.0
    amount = max(need - usable, 0.0)
    size = mix.choices[0].size if mix.choices else max(supply.sizes, key=lambda each: each.makes_ml, default=None)
    each = _used(seen, mix, size.makes_ml) if size else 0.0
    return Order(level, by, need, usable, amount, size, each, ceil(amount / each) if each > 0 else 0)
