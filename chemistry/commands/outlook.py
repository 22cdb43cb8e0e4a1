"""Looking ahead for a whole darkroom: its use, what stands, what is sealed, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.db.models import Count, Min, Q, QuerySet

from accounts.models import Darkroom
from chemistry.commands import standing, stockuse
from chemistry.models import (
    Batch,
    BatchState,
    Formula,
    Pack,
    PackState,
    TermBreak,
    VersionState,
    Vessel,
    VesselState,
)
from chemistry.science import forecast, keeping
from chemistry.science.dilution import STOCK
from chemistry.science.forecast import Demand, Lot, Size, Week
from chemistry.science.formula import Form, Rules
from chemistry.science.outlook import Ahead, Asked, Supply, ahead
from darkroom_service.localday import day_of, start_of
from darkroom_service.quantity import TENTHS_PER_ML

COMING = (BatchState.REQUESTED, BatchState.APPROVED, BatchState.MIXING, BatchState.RESTING)
SEEN_WEEKS = 12
MIX, ORDER = "mix", "order"


@dataclass(frozen=True)
class Outlook:
    """One formula: the weeks its use is known from, what there is, and what lies ahead where the use is known."""

    formula: Formula
    rules: Rules
    weeks: tuple[Week, ...]
    demand: Demand | None
    supply: Supply
    asked: Asked
    ahead: Ahead | None
    packs: int


@dataclass(frozen=True)
class Shortage:
    """A packet that should be mixed, or packets that should be ordered: by when, and the plain sum behind it."""

    formula: Formula
    what: str
    by: date
    why: str


@dataclass(frozen=True)
class _Facts:
    """What was read of a darkroom, by formula id; ``born``: the day its first batch was made."""

    uses: stockuse.StockUse
    vessels: dict[int, list[Vessel]]
    packs: dict[int, list[Pack]]
    born: dict[int, date]
    coming: set[int]
    breaks: tuple[tuple[str, date, date], ...]
    at: datetime
    zone: str


def formulas(room: Darkroom) -> QuerySet[Formula]:
    """Return the formulas of a darkroom that are worked by, each with its published versions."""
    rows = Formula.objects.filter(darkroom=room, versions__state=VersionState.PUBLISHED)
    return rows.distinct().with_published()


def looked_ahead(
    room: Darkroom, rows: Iterable[Formula], at: datetime, asked: Asked | None = None, seen_weeks: int = SEEN_WEEKS
) -> list[Outlook]:
    """Return the outlook of formulas (as ``formulas`` brings them) at an instant; the queries do not grow with them."""
    found = list(rows)
    rules = {each.pk: each.published[-1].rules for each in found}  # type: ignore[attr-defined]
    today = day_of(at, room.zone)
    first_days = [today - timedelta(weeks=back) for back in range(seen_weeks, 0, -1)]
    facts = _read(room, at, first_days[0], rules)
    closed = tuple((first, last) for _, first, last in facts.breaks)
    asked = replace(asked or Asked(today), today=today, closed=closed)
    weeks = list(zip(first_days, forecast.closed_by(first_days, facts.breaks, facts.uses.days), strict=True))
    return [_of(each, rules[each.pk], weeks, facts, asked) for each in found]


def shortages(darkroom: Darkroom, at: datetime, ahead_days: int = 7) -> list[Shortage]:
    """Return what should be mixed or ordered within so many days; nothing where use is not known or something comes.

    One darkroom takes a fixed number of queries, whatever is in it.
    """
    found = []
    for each in looked_ahead(darkroom, formulas(darkroom).order_by("code"), at):
        latest = each.asked.today + timedelta(days=ahead_days)
        found += [one for one in _lacks(each) if one.by <= latest]
    return found


def _lacks(found: Outlook) -> Iterable[Shortage]:
    """Yield what is lacking: a powder to mix where there is a packet of it, packs to order where there will be none.

    A concentrate is opened when it is needed: nobody has to be told beforehand.
    """
    if found.ahead is None or found.demand is None:
        return
    mix, order, mean = found.ahead.mix, found.ahead.order, found.demand.mean_ml
    stock = sum(each.ml for each in found.supply.stock)
    if mix.by and found.supply.sealed and not found.supply.coming and found.rules.form is Form.POWDER:
        why = (
            f"{stock:.0f} mL of stock are mixed and {mean:.0f} mL are used in an open week. Mixing and release are"
            f" reckoned at {found.asked.mixing_weeks}, so act at {mix.at_ml:.0f} mL."
        )
        yield Shortage(found.formula, MIX, mix.by, why)
    if order.by:
        whole = found.ahead.with_packs.stock_ml
        wait = found.asked.delivery_weeks + found.asked.mixing_weeks
        why = (
            f"{whole:.0f} mL of what is mixed and sealed can be used, and {mean:.0f} mL are used in an open week. An"
            f" order is reckoned at {wait} until it is mixed, so act at {order.at_ml:.0f} mL."
        )
        yield Shortage(found.formula, ORDER, order.by, why)


def _of(row: Formula, rules: Rules, first_days: Sequence[tuple[date, str]], facts: _Facts, asked: Asked) -> Outlook:
    weeks = tuple(_weeks(row, first_days, facts))
    demand = forecast.demand(weeks)
    supply = _supply(row, rules, facts, asked.today)
    found = ahead(demand, supply, asked) if demand else None
    return Outlook(row, rules, weeks, demand, supply, asked, found, len(supply.sealed))


def _weeks(row: Formula, first_days: Sequence[tuple[date, str]], facts: _Facts) -> Iterable[Week]:
    """Yield each week with what was used in it, and why it does not count if it does not.

    ``first_days`` come with why the whole room leaves that week out, or ''.
    """
    by_day, born = facts.uses.ml.get(row.pk, {}), facts.born.get(row.pk)
    for first, why in first_days:
        used = sum(ml for day, ml in by_day.items() if 0 <= (day - first).days < forecast.WEEK)
        early = born is None or first < born
        yield Week(first, used, why or ("before its first batch" if early and not used else ""))


def _supply(row: Formula, rules: Rules, facts: _Facts, today: date) -> Supply:
    by_state: dict[VesselState, list[Lot]] = defaultdict(list)
    for vessel in facts.vessels.get(row.pk, ()):
        stands = standing.assess(vessel, facts.at, facts.zone)
        share = max(float(stands.left / stands.total), 0.0) if stands.left is not None and stands.total else 1.0
        by_state[stands.state].append(Lot(vessel.contents / TENTHS_PER_ML * share, stands.use_by))
    packs = facts.packs.get(row.pk, [])
    sealed = [each for each in packs if each.state == PackState.SEALED and not _past(each, today)]
    return Supply(
        released=tuple(by_state[VesselState.READY]),
        waiting_ml=sum(each.ml for each in by_state[VesselState.WAITING]),
        to_test_ml=sum(each.ml for each in by_state[VesselState.TEST_FIRST]),
        sealed=tuple(Lot(each.makes / TENTHS_PER_ML, each.best_before) for each in sealed),
        sizes=tuple(_sizes(packs)),
        life_days=_life(rules.keeping.part_full_months or rules.keeping.full_months, today),
        coming=row.pk in facts.coming,
    )


def _past(pack: Pack, today: date) -> bool:
    return pack.best_before is not None and pack.best_before < today


def _sizes(packs: Sequence[Pack]) -> Iterable[Size]:
    """Yield every size ever received, at the price of its latest pack; nothing paid is no price."""
    latest = {each.makes: each.price_minor for each in packs}
    for makes, minor in sorted(latest.items()):
        yield Size(makes / TENTHS_PER_ML, float(minor) if minor else None)


def _life(months: int | None, today: date) -> int | None:
    return None if months is None else (keeping.months_later(today, months) - today).days


def _read(room: Darkroom, at: datetime, first_day: date, rules: dict[int, Rules]) -> _Facts:
    vessels: dict[int, list[Vessel]] = defaultdict(list)
    full = Vessel.objects.with_contents().shared().filter(darkroom=room, contents__gt=0, batch__dilution=STOCK)
    for vessel in full.order_by("pk"):
        if vessel.batch is not None:
            vessels[vessel.batch.formula_version.formula_id].append(vessel)
    packs: dict[int, list[Pack]] = defaultdict(list)
    whole = ("formula_version__rules_data", "formula_version__sources")
    received = Pack.objects.filter(darkroom=room).select_related("formula_version").defer(*whole)
    for pack in received.order_by("received_at", "pk"):
        packs[pack.formula_version.formula_id].append(pack)
    by_formula = Batch.objects.filter(darkroom=room).values("formula_version__formula_id").order_by()
    batches = by_formula.annotate(born=Min("mixed_at"), live=Count("pk", filter=Q(state__in=COMING)))
    made = [(each["formula_version__formula_id"], each["born"], each["live"]) for each in batches]
    breaks = TermBreak.objects.standing().filter(darkroom=room).order_by("first_day")
    span = (start_of(first_day, room.zone), start_of(day_of(at, room.zone), room.zone))
    return _Facts(
        stockuse.used(room, span, rules), vessels, packs,
        {formula: day_of(born, room.zone) for formula, born, _ in made if born},
        {formula for formula, _, live in made if live},
        tuple(breaks.values_list("name", "first_day", "last_day")), at, room.zone,
    )  # fmt: skip
