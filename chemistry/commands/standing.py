"""What a vessel is good for at an instant, and the dates kept on its row, recomputed from its history."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from django.db.models import Max, Q, QuerySet

from accounts.commands.entry import Work
from chemistry.commands import air, headspace
from chemistry.models import Batch, BatchState, BathTest, LevelReading, Movement, Stop, Vessel, VesselState
from chemistry.models.stop import StopKind
from chemistry.science import capacity, keeping, oxidation, replenishment
from chemistry.science.formula import Material, Replenishing, Rules, Use
from darkroom_service.localday import day_of
from darkroom_service.quantity import load_units, millilitres, rolls

BOTTLING_DAYS = 3  # a day's rest and a weekend: our choice


@dataclass(frozen=True)
class Standing:
    """A vessel's state with the reasons in words, its date and the rule that set it, roll units left and in all."""

    state: VesselState
    reasons: tuple[str, ...]
    use_by: date | None
    use_by_rule: str
    left: Fraction | None
    total: Fraction | None
    bound: oxidation.Bound | None


def rules_of(vessel: Vessel) -> Rules:
    """Return the figures of what the vessel holds; it must have been filled."""
    if vessel.batch is None:
        raise ValueError("an unfilled vessel has no formula")
    return vessel.batch.formula_version.rules


def assess(vessel: Vessel, at: datetime, zone: str) -> Standing:
    """Judge a vessel at an instant from its row alone; needs its batch and formula loaded, asks nothing more."""
    if vessel.batch is None or vessel.contents == 0:
        return Standing(VesselState.EMPTIED, ("It is empty.",), None, "", None, None, None)
    rules = rules_of(vessel)
    bound = air.bound(vessel, rules, at)
    left, total = roll_units(vessel, rules)
    promise = promise_of(vessel, rules, zone)
    state, reasons = _state(vessel, left, (*_dated(promise, at, zone), *_aired(bound)))
    return Standing(state, reasons, promise.day, promise.why, left, total, bound)


def promise_of(vessel: Vessel, rules: Rules, zone: str) -> keeping.UseBy:
    """Return the date of what a vessel holds: what its row keeps of a failed test, else the customary one."""
    if vessel.state == VesselState.STOPPED and vessel.use_by_rule.startswith(keeping.FAILED):
        return keeping.UseBy(None, "failed", vessel.use_by_rule)  # which the other dates cannot tell
    return promised(vessel, rules, zone)


def _state(vessel: Vessel, left: Fraction | None, doubts: tuple[str, ...]) -> tuple[VesselState, tuple[str, ...]]:
    if vessel.batch and vessel.batch.state == BatchState.WITHDRAWN:
        return VesselState.STOPPED, (f"Its batch {vessel.batch.code} was withdrawn; empty it to waste.",)
    if vessel.state == VesselState.STOPPED and vessel.use_by_rule.startswith(keeping.FAILED):
        return VesselState.STOPPED, (f"It {vessel.use_by_rule}. That is never lifted; empty it to waste.",)
    if vessel.state == VesselState.STOPPED:
        return VesselState.STOPPED, ("It was stopped; a technician or instructor says when it may be used again.",)
    if vessel.batch and vessel.batch.state != BatchState.RELEASED:
        return VesselState.WAITING, (f"Its batch {vessel.batch.code} is not released yet.",)
    if left is not None and left <= 0:
        return VesselState.SPENT, ("It has done all the roll units it can; empty it to waste.",)
    return (VesselState.TEST_FIRST, doubts) if doubts else (VesselState.READY, ())


def _dated(promise: keeping.UseBy, at: datetime, zone: str) -> tuple[str, ...]:
    if promise.day is None:
        return (f"No keeping time is promised: {promise.why}.",)
    if promise.until and at > promise.until:
        return (f"Its time was over at {promise.until:%d %b %Y %H:%M} UTC ({promise.why}).",)
    if day_of(at, zone) > promise.day:
        return (f"Its use-by date was {promise.day:%d %b %Y} ({promise.why}).",)
    return ()


def _aired(bound: oxidation.Bound | None) -> tuple[str, ...]:
    if bound is None or not bound.test_first:
        return ()
    return (f"Air could have taken up to {1 - bound.worst_left:.0%} of its hydroquinone (worst case, computed).",)


def promised(vessel: Vessel, rules: Rules, zone: str) -> keeping.UseBy:
    """Return the customary date of what stands in a vessel, and the rule that sets it."""
    made_at = vessel.made_at or vessel.filled_at
    if made_at is None or vessel.batch is None:
        return keeping.UseBy(None, "not_promised", "nobody recorded when it was made")
    if vessel.use == Use.REPLENISHED and rules.replenishing:
        return _by_strip(vessel, rules.replenishing, made_at, zone)
    return keeping.use_by(
        rules.keeping,
        made_on=day_of(made_at, zone),
        part_full_since=vessel.part_full_since and day_of(vessel.part_full_since, zone),
        diluted_at=made_at,
        last_pass_on=vessel.last_pass_at and day_of(vessel.last_pass_at, zone),
        dilution=vessel.batch.dilution,
    )


def _by_strip(vessel: Vessel, rule: Replenishing, made_at: datetime, zone: str) -> keeping.UseBy:
    """Date a replenished bath by its control strip, not by the day it was mixed: replenisher keeps it young."""
    seen = filter(None, (vessel.last_strip_at, vessel.last_pass_at, vessel.filled_at))
    last = day_of(max(seen, default=made_at), zone)
    why = f"replenished: a control strip every {rule.strip_days} days, the last counted from {last:%d %b %Y}"
    return keeping.UseBy(replenishment.strip_due(rule, last), "strip", why)


def roll_units(vessel: Vessel, rules: Rules, *, compensated: bool = True) -> tuple[Fraction | None, Fraction | None]:
    """Return roll units left and in all, where the way of use is limited by a count; None where it is not."""
    if not vessel.use or not capacity.counted(Use(vessel.use)) or vessel.batch is None:
        return None, None
    material = Material(vessel.film_or_paper or Material.FILM)
    figure = capacity.find(rules, material, Use(vessel.use), vessel.batch.dilution)
    if figure is None:
        return None, None
    total = capacity.total(figure, millilitres(vessel.basis), compensated)
    return total - rolls(vessel.load), total


def load_limit(vessel: Vessel) -> int | None:
    """Return the load (1/3600 roll unit) the present filling can do, where a count limits it; kept for notices."""
    total = roll_units(vessel, rules_of(vessel))[1] if vessel.batch and vessel.contents else None
    return None if total is None else load_units(total)


def opened(vessel: Vessel, at: datetime, contents_before: int) -> None:
    """Note that a vessel was opened: the air shut in until now has acted, fresh air is shut in from here.

    Told late, it lets in one airful more, over what stands there now: a bound may be too high, never too low. What a
    passed test has seen since adds nothing: the loss is counted anew from there.
    """
    if vessel.closed_at == at:
        return
    if vessel.closed_at is not None and at < vessel.closed_at:
        if all(known is None or at >= known for known in (vessel.filled_at, vessel.last_pass_at)):
            air.keep(vessel, air.one_more(vessel))
        return
    air.keep(vessel, air.dose(vessel, at, contents_before))
    vessel.closed_at = at


def join(target: Vessel, source: Vessel, volume: int, at: datetime, zone: str) -> None:
    """Let liquid of another vessel join what stands in the target: topping up makes nothing younger or better."""
    if target.closed_at is None or at >= target.closed_at:
        air.keep(target, air.mix(target, source, volume, at))
        target.closed_at = at
    target.made_at = min(filter(None, (target.made_at, source.made_at)), default=None)
    earlier = (target.part_full_since, stood_part_full(source, at, zone))
    target.part_full_since = min(filter(None, earlier), default=None)
    passes = (target.last_pass_at, source.last_pass_at)
    target.last_pass_at = None if None in passes else min(filter(None, passes))
    target.worst_left_at_pass = max(Decimal(target.worst_left_at_pass), Decimal(source.worst_left_at_pass))


def stood_part_full(vessel: Vessel, at: datetime, zone: str) -> datetime | None:
    """Return since when a vessel stood part-full, as far as it counts for what is poured on.

    What was poured out of it on the same day does not, nor a mixing drum in the days that a batch rests and is bottled:
    the customary date of a full bottle counts from mixing. The air taken up meanwhile is counted apart.
    """
    since, made = vessel.part_full_since, vessel.made_at
    today = day_of(at, zone)
    bottling = made is not None and (today - day_of(made, zone)).days <= BOTTLING_DAYS
    return since if since and day_of(since, zone) < today and not bottling else None


def begin_filling(vessel: Vessel, batch: Batch, at: datetime, *, source: Vessel | None = None, zone: str = "") -> None:
    """Set an empty vessel up for a new filling; liquid from another vessel brings its way of use and its age along.

    Liquid that has done no work may still be used in any way. ``zone``: so that days part-full are counted too.
    """
    used = source is not None and source.use not in {"", Use.FRESH}
    vessel.batch, vessel.filled_at, vessel.closed_at = batch, at, at
    vessel.made_at = (source.made_at if source else batch.mixed_at) or at
    vessel.use = source.use if source and used else ""
    vessel.film_or_paper = source.film_or_paper if source and used else ""
    vessel.last_pass_at = source.last_pass_at if source else None
    vessel.worst_left_at_pass = source.worst_left_at_pass if source else Decimal(1)
    vessel.part_full_since = stood_part_full(source, at, zone) if source and zone else None
    vessel.last_strip_at = None
    vessel.replenish_owed = 0
    air.keep(vessel, air.dose(source, at, source.contents) if source else oxidation.Dose())
    vessel.state = VesselState.WAITING if batch.state != BatchState.RELEASED else VesselState.READY


def part_full_from(vessel: Vessel, at: datetime) -> None:
    """Note that a vessel stands part-full from here; an earlier day stays, since topping up never makes it younger."""
    full = not keeping.is_part_full(millilitres(vessel.contents), millilitres(vessel.nominal))
    if vessel.contents and not full:
        vessel.part_full_since = min(filter(None, (vessel.part_full_since, at)))


def refresh(vessel: Vessel, work: Work) -> None:
    """Recompute the use-by date with its rule, and the state; a stopped vessel stays stopped."""
    vessel.load_limit = load_limit(vessel)
    if vessel.batch is None or vessel.contents == 0:
        return
    zone, rules = work.darkroom.zone, rules_of(vessel)
    if vessel.state == VesselState.EMPTIED and open_stop(vessel):
        vessel.state = VesselState.STOPPED  # something was left in it after all
    failed = _failed_on(vessel, zone) if vessel.state == VesselState.STOPPED else None
    found = promised(vessel, rules, zone)
    if failed:
        found = keeping.use_by(rules.keeping, made_on=failed, failed_on=failed)
    vessel.use_by, vessel.use_by_rule = found.day, found.why[:300]
    vessel.state = assess(vessel, work.recorded_at, zone).state


def _failed_on(vessel: Vessel, zone: str) -> date | None:
    failed = open_stops(vessel).filter(kind=StopKind.FAILED_TEST).order_by("occurred_at").first()
    return day_of(failed.occurred_at, zone) if failed else None


def recall(vessel: Vessel, work: Work) -> None:
    """Recompute what a late entry or a reversal may have changed: last sure level, part-full since, passes, stops."""
    lives = Q(reverses=None, reversed_by=None)
    since = Q(occurred_at__gte=vessel.filled_at) if vessel.filled_at else Q()
    moves = Movement.objects.filter(lives, since, Q(source_vessel=vessel) | Q(target_vessel=vessel))
    read = LevelReading.objects.filter(since, vessel=vessel, entry__reversal=None)
    looks = (rows.aggregate(last=Max("occurred_at"))["last"] for rows in (moves.filter(sets_level=True), read))
    vessel.level_known_at = max(filter(None, looks), default=vessel.filled_at)
    inherited = vessel.part_full_since
    if inherited and vessel.filled_at and inherited >= vessel.filled_at:
        inherited = None
    first = headspace.first_part_full(moves, vessel)
    vessel.part_full_since = min(filter(None, (inherited, first)), default=None)
    passes = BathTest.objects.filter(since, vessel=vessel, passed=True, entry__reversal=None)
    vessel.last_pass_at = passes.aggregate(last=Max("occurred_at"))["last"] or vessel.last_pass_at
    if open_stop(vessel):
        vessel.state = VesselState.STOPPED
    refresh(vessel, work)


def open_stop(vessel: Vessel) -> Stop | None:
    """Return the latest stop of the present filling that nobody has lifted, if there is one."""
    return open_stops(vessel).order_by("-id").first()


def open_stops(vessel: Vessel) -> QuerySet[Stop]:
    """Keep the stops of the present filling that nobody has lifted."""
    stops = Stop.objects.filter(vessel=vessel, lifting=None)
    return stops.filter(occurred_at__gte=vessel.filled_at) if vessel.filled_at else stops
