"""Where a darkroom stands by its country's rules: how much it made and holds, for how long, and what is due next."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from waste.science import generator
from waste.science.retention import months_after

DENSITY = Decimal("1.10")  # kg/L for every liquid, heavier than an MQ stock (1.09, computed)
DENSITY_WORDS = (
    "Kilograms are volume times 1.10 kg/L, an assumption on the heavy side for working baths; a concentrated fixer "
    "weighs up to 1.3. Weigh the containers where it comes near a boundary."
)
DEFER = "Computed, not weighed. The competent authority, the waste contractor and local rules prevail."
CAUTION = (
    "A full or leaking container hurts whoever lifts it: keep lids shut, a tray beneath, goggles and gloves near, "
    "and ask whoever answers for the waste before moving any."
)
INSPECTION_DAYS = 7
EU_DISPOSAL_MONTHS, EU_RECOVERY_MONTHS = 12, 36
_LANDFILL = "Directive 1999/31/EC, Article 2 (g): a year before disposal, three before recovery; from memory"
_WEEKLY_US = "40 CFR 262.16(b)(2)(iv), weekly; read in a trade note, paragraph from memory"
_WEEKLY_HABIT = "weekly: common practice, no source"


@dataclass(frozen=True)
class Boundary:
    """One line that changes the rules: what is counted, where it lies, and what is beyond it."""

    name: str
    counts: str
    at_kg: Decimal
    beyond: str
    source: str


BOUNDARIES = {
    "US": (
        Boundary("VSQG to SQG", "month", generator.KG_VERY_SMALL, "more than this in a calendar month", generator.EPA),
        Boundary("SQG to LQG", "month", generator.KG_LARGE, "this or more in a calendar month", generator.EPA),
        Boundary("VSQG overflow", "on site", generator.KG_LARGE, "this or more on site at once", generator.EPA),
        Boundary("SQG on site", "on site", Decimal(6000), "more than this on site at once", generator.EPA),
    ),
    "EU": (),
    "UK": (
        Boundary(
            "premises registration in Wales", "year", Decimal(500), "this or more in a year; England has none",
            "stored council page, read; that Wales kept it, from memory",
        ),
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Facts:
    """What is known of a darkroom: volumes in litres, days in its own calendar.

    ``began`` is the day the oldest waste still there went in; None while nothing stands. ``inspected`` is the day the
    container longest unseen was last looked at, or first poured into if that is later; None where nobody knows.
    """

    country: str
    today: date
    month_l: Decimal
    onsite_l: Decimal
    began: date | None
    inspected: date | None = None
    far: bool = False


@dataclass(frozen=True)
class Deadline:
    """Something due: what, by which day, that day included, and by which rule."""

    what: str
    by: date
    source: str


@dataclass(frozen=True)
class Standing:
    """The answer. ``category`` is the law's own word, or plain words where the law draws no line by quantity."""

    category: str
    why: str
    month_kg: Decimal
    onsite_kg: Decimal
    days: int | None
    over: tuple[str, ...]
    boundaries: tuple[Boundary, ...]
    deadlines: tuple[Deadline, ...]
    inspection_due: date | None
    inspection_source: str

    @property
    def next_deadline(self) -> Deadline | None:
        """Return what is due first."""
        return min(self.deadlines, key=lambda each: each.by, default=None)


def kilograms(litres: Decimal, density: Decimal = DENSITY) -> Decimal:
    """Return kg of a volume in litres by an assumed density in kg/L, to 0.01 kg."""
    return (litres * density).quantize(Decimal("0.01"))


def standing(facts: Facts) -> Standing:
    """Return where a darkroom stands by the rules of ``US``, ``UK``, ``EU`` or none of them.

    Days are counted with the day waste went in as day 0: on day 180 an SQG is in time, on day 181 late. Source: the
    rows of ``generator`` and the landfill directive, each with its own.
    """
    month, onsite = kilograms(facts.month_l), kilograms(facts.onsite_l)
    days = (facts.today - facts.began).days if facts.began else None
    if facts.country == "US":
        return _us(facts, month, onsite, days)
    due = _plain_deadlines(facts)
    why = "The law draws no line by quantity: records are due from the first kilogram."
    if facts.country not in BOUNDARIES:
        why = "No country's rules are set for this darkroom; the European ones are shown."
    category = "producer of hazardous waste" if month or onsite else "nothing hazardous recorded"
    return Standing(
        category, why, month, onsite, days, _late(due, facts.today), BOUNDARIES.get(facts.country, ()), due,
        _inspection(facts), _WEEKLY_HABIT,
    )  # fmt: skip


def _us(facts: Facts, month: Decimal, onsite: Decimal, days: int | None) -> Standing:
    made = generator.category(month)
    kept_by = generator.holds(made, onsite)
    limits = generator.LIMITS[kept_by]
    due = tuple(_us_deadlines(facts, kept_by))
    over = list(_late(due, facts.today))
    if limits.onsite_kg is not None and onsite > limits.onsite_kg:
        over.append(f"{onsite} kg on site is more than the {limits.onsite_kg} kg a {kept_by} may hold.")
    why = f"{month} kg this calendar month makes a {made}."
    if kept_by is not made:
        why += f" With {onsite} kg on site it keeps the limits of a {kept_by}."
    inspection, source = _inspection(facts), _WEEKLY_US if limits.weekly_inspection else _WEEKLY_HABIT
    return Standing(made, why, month, onsite, days, tuple(over), BOUNDARIES["US"], due, inspection, source)


def _us_deadlines(facts: Facts, kept_by: generator.Category) -> Iterable[Deadline]:
    if facts.began and (by := generator.ship_by(facts.began, kept_by, far=facts.far)):
        yield Deadline(f"the waste leaves the site, as a {kept_by}", by, generator.EPA)
    if kept_by is generator.Category.SMALL:
        yield Deadline("notify again on Form 8700-12", generator.renotify(facts.today), "40 CFR 262.18(d), read")


def _plain_deadlines(facts: Facts) -> tuple[Deadline, ...]:
    """Return the landfill directive's bounds: less than a year before disposal, so its last day is the one before."""
    if facts.began is None:
        return ()
    rules = (("disposal", EU_DISPOSAL_MONTHS), ("recovery", EU_RECOVERY_MONTHS))
    return tuple(
        Deadline(f"waste for {purpose} leaves the site", _day_before(facts.began, months), _LANDFILL)
        for purpose, months in rules
    )


def _day_before(began: date, months: int) -> date:
    return months_after(began, months) - timedelta(days=1)


def _late(due: Iterable[Deadline], today: date) -> tuple[str, ...]:
    return tuple(f"Overdue since {each.by}: {each.what}." for each in due if today > each.by)


def _inspection(facts: Facts) -> date | None:
    """Return the day the containers are next looked at: a week after the last time, or after the first went in."""
    last = facts.inspected or facts.began
    return last + timedelta(days=INSPECTION_DAYS) if last and facts.began else None


def storage_ends_before_years(purpose: str) -> int:
    """Return how many years waste is stored for less than: 1 before disposal, 3 before recovery. From memory."""
    return {"disposal": EU_DISPOSAL_MONTHS, "recovery": EU_RECOVERY_MONTHS}[purpose] // 12
