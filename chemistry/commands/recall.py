"""Who and what a batch has reached: what was made from it, and everybody who used it."""

from datetime import datetime

from django.db.models import Max, Min

from accounts.models import Membership
from chemistry.models import Batch, CheckIn, Movement, Place, SessionTray, Tally, Vessel


def made_from(batch: Batch) -> list[Batch]:
    """Return every batch with liquid of this one in it: diluted from it, blended with it, and so on down."""
    found: set[int] = {batch.pk}
    latest = found
    while latest:
        rows = Movement.objects.filter(source_batch__in=latest, reverses=None, reversed_by=None)
        reached = set(rows.exclude(target_batch=None).values_list("target_batch", flat=True))
        latest = reached - found
        found |= latest
    return list(
        Batch.objects.select_related("formula_version__formula").filter(pk__in=found - {batch.pk}).order_by("pk")
    )


def users(batches: list[Batch]) -> list[Membership]:
    """Return everybody who put film or paper through one of the batches, and has not taken the entry back."""
    poured = Movement.objects.filter(source_batch__in=batches, target=Place.RUN, reverses=None, reversed_by=None)
    members = set(CheckIn.objects.filter(entry__in=poured.values("entry")).values_list("member", flat=True))
    for vessel, first, last in _times(batches):
        tallies = Tally.objects.filter(session__trays__vessel=vessel, occurred_at__gte=first, entry__reversal=None)
        if last:
            tallies = tallies.filter(occurred_at__lte=last)
        members |= set(tallies.values_list("member", flat=True))
    return list(Membership.objects.filter(pk__in=members))


def _times(batches: list[Batch]) -> list[tuple[int, datetime, datetime | None]]:
    """Return each vessel one of the batches stood in, from when until when; None while it stands there."""
    trays = SessionTray.objects.values("vessel")
    into = Movement.objects.filter(target_batch__in=batches, target_vessel__in=trays)
    firsts = dict(into.values_list("target_vessel").annotate(first=Min("occurred_at")))
    out = Movement.objects.filter(source_batch__in=batches, source_vessel__in=firsts)
    lasts = dict(out.values_list("source_vessel").annotate(last=Max("occurred_at")))
    still = set(Vessel.objects.filter(pk__in=firsts, batch__in=batches, contents__gt=0).values_list("pk", flat=True))
    return [(pk, first, None if pk in still else lasts.get(pk)) for pk, first in firsts.items()]
