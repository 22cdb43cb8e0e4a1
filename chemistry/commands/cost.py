"""Who bears what of a batch: a standard rate frozen when it is used, and the rest to the darkroom at the end."""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import floor

from django.db.models import Exists, F, OuterRef, Sum

from accounts.commands.entry import Work
from accounts.models import Membership
from chemistry.commands import loss
from chemistry.models import Batch, CostShare, Movement, Vessel
from darkroom_service.quantity import TENTHS_PER_ML


def rate(batch: Batch) -> Fraction:
    """Return minor units for each 0.1 mL of a batch; nothing where nothing has been made of it yet."""
    return Fraction(batch.cost_minor, batch.made) if batch.made else Fraction(0)


def due(batch: Batch, spent_ml: Fraction) -> Fraction:
    """Return what so many millilitres of a batch cost, in exact minor units."""
    return rate(batch) * spent_ml * TENTHS_PER_ML


def split(dues: Sequence[Fraction]) -> list[int]:
    """Round exact sums to minor units so that the parts add up to their rounded total: largest remainder."""
    parts = [floor(each) for each in dues]
    by_remainder = sorted(range(len(dues)), key=lambda at: parts[at] - dues[at])
    for at in by_remainder[: round(sum(dues, Fraction(0))) - sum(parts)]:
        parts[at] += 1
    return parts


def charge_locked(work: Work, member: Membership, dues: Sequence[tuple[Batch, Fraction]]) -> int:
    """Let a member bear exact sums of several batches; returns the whole, in minor units."""
    parts = split([amount for _, amount in dues])
    CostShare.objects.bulk_create(
        CostShare(batch=batch, member=member, minor=minor, entry_id=work.entry_id, occurred_at=work.occurred_at)
        for (batch, _), minor in zip(dues, parts, strict=True)
        if minor
    )
    return sum(parts)


def pass_on_locked(work: Work, source_batch: Batch, child_batch: Batch, volume: int) -> None:
    """Let a batch made from another (diluted, blended) take over the cost of the volume that went into it."""
    minor = round(rate(source_batch) * volume)
    if minor == 0:
        return
    CostShare.objects.create(
        batch=source_batch, into=child_batch, minor=minor, entry_id=work.entry_id, occurred_at=work.occurred_at
    )
    Batch.objects.filter(pk=child_batch.pk).update(cost_minor=F("cost_minor") + minor)
    child_batch.cost_minor += minor


def settle_locked(work: Work, batch: Batch) -> None:
    """Book what is left of a batch's cost to the darkroom once all its vessels are empty.

    It may be called again: a late entry or a reversal after the end moves the rest, so that the shares always add up
    to the whole. The rest is below zero where more was borne than the batch cost, as after an overrun.
    """
    standing = Vessel.objects.filter(batch=OuterRef("pk"), contents__gt=0)
    ended = Batch.objects.filter(~Exists(standing), pk=batch.pk).annotate(borne=Sum("cost_shares__minor"))
    found = ended.values_list("cost_minor", "borne").first()
    if found is None:
        if batch.closed_at:
            Batch.objects.filter(pk=batch.pk).update(closed_at=None, version=F("version") + 1)
        return
    if rest := found[0] - (found[1] or 0):
        CostShare.objects.create(batch=batch, minor=rest, entry_id=work.entry_id, occurred_at=work.occurred_at)
    if batch.closed_at is None:
        batch.closed_at = work.occurred_at
        Batch.objects.filter(pk=batch.pk).update(closed_at=work.occurred_at, version=F("version") + 1)
        loss.tell_locked(work, batch)


def settle_moved_locked(work: Work, movements: Iterable[Movement]) -> None:
    """Settle every batch that may have ended with these movements, or stands again after it had ended."""
    for batch in {batch.pk: batch for row in movements for batch in _unsettled(row)}.values():
        settle_locked(work, batch)


def _unsettled(row: Movement) -> Iterator[Batch]:
    """Yield the batch a vessel holds nothing of any more, and those that had ended before."""
    left, vessel = row.source_batch, row.source_vessel
    if left and vessel and (vessel.contents == 0 or vessel.batch_id != left.pk):
        yield left
    yield from (batch for batch in (left, row.target_batch) if batch and batch.closed_at)
