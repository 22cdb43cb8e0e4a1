"""What went through the baths and what it cost, added up by the database: check-ins and tray tallies together."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery, Sum, Value
from django.db.models.functions import TruncMonth

from accounts.acts import Role
from accounts.models import Darkroom, Membership
from chemistry.models import CheckIn, Movement, SessionTray, StepRole, Tally
from darkroom_service.refusal import NotAllowed

TOTAL, MEMBER, MONTH, VESSEL, FORMULA = "total", "member", "month", "vessel", "formula"
BY = (TOTAL, MEMBER, MONTH, VESSEL, FORMULA)
SUMS = ("entries", "load", "area", "volume", "cost")


@dataclass(frozen=True)
class Span:
    """From an instant up to, not including, another; open where None."""

    since: datetime | None = None
    until: datetime | None = None

    @property
    def within(self) -> Q:
        since = Q(occurred_at__gte=self.since) if self.since else Q()
        return since & (Q(occurred_at__lt=self.until) if self.until else Q())


def whose(viewer: Membership, member: Membership | None, by: str) -> Membership | None:
    """Return whose usage somebody may see of what they ask for; None is that of the whole darkroom."""
    if viewer.holds(Role.TECHNICIAN, Role.INSTRUCTOR) or member == viewer:
        return member
    if not viewer.holds(Role.ADMIN):
        if member is None:
            return viewer
        raise NotAllowed("usage.not_own", "A member sees their own usage. Leave member out, or ask the technician.")
    if member is not None or by == MEMBER:
        words = "An admin sees totals. Leave the member out, or ask a technician or an instructor."
        raise NotAllowed("usage.totals_only", words)
    return None


def summed(room: Darkroom, *, by: str, member: Membership | None, span: Span) -> list[dict[str, Any]]:
    """Return load, area, volume and cost for each member, month, vessel or formula, in two queries.

    ``volume`` is what filled the tanks. What was taken back does not count.
    """
    own = Q(member=member) if member else Q()
    check_ins = CheckIn.objects.standing().filter(span.within, own, darkroom=room)
    tallies = Tally.objects.filter(span.within, own, session__darkroom=room, entry__reversal=None)
    zone = ZoneInfo(room.zone)
    tanks = _grouped(check_ins.annotate(key=_of_check_in(by, zone)), Sum("tank"))
    trays = _grouped(tallies.annotate(key=_of_tally(by, zone)), Value(0))
    return _merged([*tanks, *trays])


def _grouped(rows: QuerySet[Any], volume: Any) -> list[dict[str, Any]]:
    sums = {"entries": Count("pk"), "sum_load": Sum("load"), "sum_area": Sum("area"), "cost": Sum("cost_minor")}
    found = rows.order_by().values("key").annotate(**sums)
    found = found.annotate(volume=volume)
    found = found.filter(entries__gt=0)  # one sum of everything is a row even where there is nothing
    return list(found.values("key", "entries", "cost", "volume", load=F("sum_load"), area=F("sum_area")))


def _merged(groups: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Add up the groups of one key; a formula or vessel nobody knows any more comes last."""
    totals: dict[Any, dict[str, Any]] = {}
    for group in groups:
        total = totals.setdefault(group["key"], {"key": group["key"], **dict.fromkeys(SUMS, 0)})
        for name in SUMS:
            total[name] += group[name]
    return sorted(totals.values(), key=lambda total: (total["key"] is None, str(total["key"])))


def _of_check_in(by: str, zone: ZoneInfo) -> Any:
    drawn = Movement.objects.filter(entry=OuterRef("entry"), source_vessel=OuterRef("vessel"))
    return {
        TOTAL: Value("all"),
        MEMBER: F("member__public_id"),
        MONTH: TruncMonth("occurred_at", tzinfo=zone),
        VESSEL: F("vessel__public_id"),
        FORMULA: Subquery(drawn.values("source_batch__formula_version__formula__code")[:1]),
    }[by]


def _of_tally(by: str, zone: ZoneInfo) -> Any:
    trays = SessionTray.objects.filter(session=OuterRef("session"), role=StepRole.DEVELOPER)
    same = SessionTray.objects.filter(session=OuterRef(OuterRef("session")), role=StepRole.DEVELOPER)
    filled = Movement.objects.filter(
        target_vessel__in=same.values("vessel"), target_batch__isnull=False, occurred_at__lte=OuterRef("occurred_at")
    ).order_by("-occurred_at", "-id")
    return {
        TOTAL: Value("all"),
        MEMBER: F("member__public_id"),
        MONTH: TruncMonth("occurred_at", tzinfo=zone),
        VESSEL: Subquery(trays.values("vessel__public_id")[:1]),
        FORMULA: Subquery(filled.values("target_batch__formula_version__formula__code")[:1]),
    }[by]
