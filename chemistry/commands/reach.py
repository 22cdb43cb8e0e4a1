"""Who has used what stood in a vessel in some span of time, here and in what was poured on from it."""

from datetime import datetime

from django.db.models import Min, Q

from accounts.models import Membership
from chemistry.models import Batch, BathTest, CheckIn, Movement, Place, Tally, Vessel


def filled(vessel: Vessel, batch: Batch) -> datetime | None:
    """Return when a batch first came into a vessel."""
    came = Movement.objects.filter(target_vessel=vessel, target_batch=batch).exclude(source_vessel=vessel)
    first: datetime | None = came.aggregate(first=Min("occurred_at"))["first"]
    return first


def last_good(vessel: Vessel, batch: Batch | None, before: datetime | None = None) -> datetime | None:
    """Return when a batch in a vessel was last known to be good: its last passed test, else when it came in.

    ``before``: only tests before that count.
    """
    if batch is None:
        return None
    passed = BathTest.objects.filter(vessel=vessel, batch=batch, passed=True, entry__reversal=None)
    if before:
        passed = passed.filter(occurred_at__lt=before)
    last = passed.order_by("-occurred_at").first()
    return last.occurred_at if last else filled(vessel, batch)


def users(vessel: Vessel, since: datetime | None, until: datetime | None) -> list[Membership]:
    """Return everybody who put film or paper through it after ``since``, or through what it was poured into since."""
    found: set[int] = set()
    waiting, seen = [(vessel.pk, since)], {vessel.pk}
    while waiting:
        pk, begin = waiting.pop()
        span = _span(begin, until)
        live = Movement.objects.filter(span, source_vessel=pk, reverses=None, reversed_by=None)
        poured = live.filter(target=Place.RUN).values("entry")
        found |= set(CheckIn.objects.filter(entry__in=poured).values_list("member", flat=True))
        tallies = Tally.objects.filter(span, session__trays__vessel=pk, entry__reversal=None)
        found |= set(tallies.values_list("member", flat=True))
        for target, at in (
            live.exclude(target_vessel=None).order_by("occurred_at").values_list("target_vessel", "occurred_at")
        ):
            if target not in seen:
                seen.add(target)
                waiting.append((target, at))
    return list(Membership.objects.filter(pk__in=found).order_by("pk"))


def _span(since: datetime | None, until: datetime | None) -> Q:
    begin = Q(occurred_at__gte=since) if since else Q()
    return begin & (Q(occurred_at__lt=until) if until else Q())
