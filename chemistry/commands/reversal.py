"""Taking an own entry back with a reason, or somebody else's where one looks after the room."""

from accounts.commands.entry import Work
from accounts.models import Entry
from chemistry.commands import cost, progress, stop
from chemistry.commands.mirror import mirror_locked
from chemistry.commands.vessel import is_staff
from chemistry.models import BatchState, BatchStep, Pack, PackState, Reversal, Vessel
from darkroom_service.refusal import Clash, NotAllowed


def reverse_locked(work: Work, target: Entry, *, reason: str) -> tuple[Reversal, list[str]]:
    """Take an entry back: who may, once only, every row mirrored; returns the flags earned on the way too."""
    if work.by.pk not in {target.by_id, target.on_behalf_of_id} and not is_staff(work.by):
        words = "Only who entered it takes it back, or a technician or an instructor. Ask one of them."
        raise NotAllowed("entry.not_yours", words, roles=["instructor", "technician"])
    if earlier := Reversal.objects.filter(target=target).first():
        words = "This was taken back already. If that was wrong, enter it anew."
        raise Clash("entry.reversed", words, reversal=str(earlier.public_id))
    # Before the rows are mirrored: what is recomputed then must not count this entry's readings.
    made = Reversal.objects.create(
        darkroom=work.darkroom, target=target, reason=reason, by=work.by, entry_id=work.entry_id,
        occurred_at=work.occurred_at,
    )  # fmt: skip
    flags = mirror_locked(work, target)
    stop.undo_locked(work, target)
    _unmake(work, target, reason)
    return made, flags


def _unmake(work: Work, target: Entry, reason: str) -> None:
    """Withdraw what an entry had made in one act, where nothing of it stands anywhere; its pack is sealed again."""
    for step in BatchStep.objects.filter(entry=target, was="").select_related("batch"):
        batch = progress.fresh(step.batch)
        if batch.state != BatchState.RELEASED or Vessel.objects.filter(batch=batch, contents__gt=0).exists():
            continue
        Pack.objects.filter(batch=batch, state=PackState.OPENED).update(batch=None, state=PackState.SEALED)
        progress.move(work, batch, BatchState.WITHDRAWN, note=f"taken back: {reason}"[:500])
        batch.made = batch.cost_minor = 0
        batch.save(update_fields=["made", "cost_minor", "state", "version"])
        if batch.closed_at:
            cost.settle_locked(work, batch)
