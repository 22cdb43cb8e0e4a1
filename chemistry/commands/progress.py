"""The states of a batch: which follows which, and who must be somebody else."""

from datetime import datetime

from accounts.acts import Role
from accounts.commands.entry import Work
from accounts.models import SecondPerson
from chemistry.models import Batch, BatchState, BatchStep
from chemistry.models.batch import MOVES
from darkroom_service.refusal import Clash, Malformed, NotAllowed

_NOW = {
    BatchState.REQUESTED: "waits for approval: approve, reject or cancel it",
    BatchState.APPROVED: "is approved: start mixing it, or reject or cancel it",
    BatchState.MIXING: "is being mixed: finish that, or withdraw it",
    BatchState.RESTING: "rests until {rest}: release it after that, or withdraw it",
    BatchState.MIXED: "is mixed: release it, or withdraw it",
    BatchState.RELEASED: "is released: withdraw it if it must not be used",
    BatchState.REJECTED: "was rejected: request a new batch",
    BatchState.CANCELLED: "was cancelled: request a new batch",
    BatchState.WITHDRAWN: "is withdrawn for good: empty its vessels and request a new batch",
}


def fresh(batch: Batch) -> Batch:
    """Read the batch again under the lock, with its formula."""
    return Batch.objects.select_related("formula_version__formula").get(pk=batch.pk)


def state_at(batch: Batch, at: datetime) -> BatchState:
    """Return the state in effect at an instant: a batch whose rest is over is mixed, whoever noticed it."""
    rested = batch.state == BatchState.RESTING and batch.rest_until is not None and batch.rest_until <= at
    return BatchState.MIXED if rested else BatchState(batch.state)


def following(batch: Batch, at: datetime) -> list[str]:
    """Return the states that may follow at an instant; a batch is not released while it rests."""
    state = state_at(batch, at)
    soon = {BatchState.RELEASED} if state == BatchState.RESTING else set()
    return sorted(MOVES.get(state, frozenset()) - soon)


def judge(work: Work, batch: Batch, became: BatchState) -> None:
    """Refuse a change of state that may not follow now, and say what may."""
    state = state_at(batch, work.recorded_at)
    allowed = following(batch, work.recorded_at)
    if became not in allowed:
        rest = f"{batch.rest_until:%d %b %Y %H:%M} UTC" if batch.rest_until else ""
        words = f"Batch {batch.code} {_NOW[state].format(rest=rest)}."
        raise Clash("batch.wrong_state", words, state=state.value, wanted=became.value, allowed=allowed)


def move(work: Work, batch: Batch, became: BatchState, *, note: str = "") -> None:
    """Change the state and record the step; a rest that is over is recorded first. The caller saves the batch."""
    judge(work, batch, became)
    if batch.rest_until and state_at(batch, work.recorded_at) != batch.state:
        _step(work, batch, BatchState.MIXED, at=batch.rest_until, note="its rest was over")
    _step(work, batch, became, at=work.occurred_at, note=note)


def begin(work: Work, batch: Batch, *, note: str = "") -> Batch:
    """Write a new batch in the state it begins in."""
    batch.save()
    _record(work, batch, "", at=work.occurred_at, note=note)
    return batch


def _step(work: Work, batch: Batch, became: BatchState, *, at: datetime, note: str) -> None:
    was, batch.state = batch.state, became
    batch.version += 1
    _record(work, batch, was, at=at, note=note)


def _record(work: Work, batch: Batch, was: str, *, at: datetime, note: str) -> None:
    BatchStep.objects.create(
        batch=batch, was=was, became=batch.state, note=note, by=work.by, occurred_at=at, entry_id=work.entry_id
    )


def not_before(work: Work, earliest: datetime | None, what: str) -> None:
    """Refuse a claimed time at which this cannot have happened."""
    if earliest and work.occurred_at < earliest:
        words = f"It {what} at {earliest:%d %b %Y %H:%M:%S} UTC; this cannot have been before. Give the time it was."
        raise Malformed("time.impossible", words, pointer="/occurred_at", earliest=earliest.isoformat())


def second_person(work: Work, setting: str, first_id: int | None, *, code: str, words: str) -> list[str]:
    """Judge that somebody else did the part before; returns the flag earned where the darkroom only notes it."""
    if first_id != work.by.pk or setting == SecondPerson.OFF:
        return []
    if setting == SecondPerson.NOTED:
        return [code]
    raise NotAllowed(code, words, roles=[Role.INSTRUCTOR.value, Role.TECHNICIAN.value])


def tidy(batch: Batch, flags: list[str]) -> None:
    """Add flags to a batch, each once."""
    batch.flags = list(dict.fromkeys([*batch.flags, *flags]))
