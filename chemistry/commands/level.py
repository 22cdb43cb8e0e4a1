"""Level readings: what is really in a vessel, read off a scale mark or a balance."""

from dataclasses import dataclass

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Entry
from chemistry.commands import cost, joining, reversal
from chemistry.commands.ledger import Book, is_large
from chemistry.commands.stop import stop_locked
from chemistry.commands.vessel import batch_then, check_size, reread
from chemistry.models import LevelReading, Reversal, Vessel, VesselState
from chemistry.models.stop import StopKind
from chemistry.science.formula import Use
from darkroom_service.quantity import millilitres


@dataclass(frozen=True)
class Read:
    """A reading as written; ``superseded``: a later look at the vessel prevails, so that it changed nothing."""

    reading: LevelReading
    superseded: bool


@command(Act.VESSEL_LEVEL)
def read(work: Work, vessel: Vessel, *, measured: int) -> Read:
    """Write down what is really in a vessel; the difference goes to unaccounted, or comes from there."""
    row, book = reread(vessel), Book(work, work.occurred_at)
    check_size(row, measured, pointer="/measured")
    if row.batch or measured:
        batch_then(book, row)
    before, superseded = row.contents, book.anchored(row)
    difference = book.level(row, measured)
    reading = LevelReading.objects.create(
        vessel=row, measured=measured, difference=difference, by=work.whom, entry_id=work.entry_id,
        occurred_at=work.occurred_at,
    )  # fmt: skip
    if difference:  # a mark is read without opening the bottle; what is missing was poured from it open
        joining.restate(book, row, before)
    book.close()
    if difference and not before:
        _doubt(work, row)
    cost.settle_moved_locked(work, book.movements)
    if is_large(-difference, measured - difference):
        _tell(work, reading, row)
    return Read(reading, superseded)


def _doubt(work: Work, vessel: Vessel) -> None:
    """Stop a bath that had worked and counted as empty: how much it had done left the record with its liquid."""
    if vessel.use not in {"", Use.FRESH} and vessel.state != VesselState.STOPPED:
        reason = (
            "It was read after the record had it empty: nobody knows what this bath has done. Test it, or empty it."
        )
        stop_locked(work, vessel, kind=StopKind.RULE_BROKEN, reason=reason)


@command(Act.VESSEL_LEVEL_REVERSE)
def reverse(work: Work, reading: LevelReading, *, reason: str) -> Reversal:
    """Take a reading back: what it took from the vessel or found in it is undone."""
    made, _ = reversal.reverse_locked(work, Entry.objects.get(pk=reading.entry_id), reason=reason)
    if not reading.difference:
        book = Book(work, reading.occurred_at)
        book.touch(reread(reading.vessel))
        book.close(rethink=True)
    return made


def _tell(work: Work, reading: LevelReading, vessel: Vessel) -> None:
    lost, whole = millilitres(-reading.difference), millilitres(reading.measured - reading.difference)
    text = (
        f"{vessel.name} ({vessel.code}) held {lost} mL less than the record's {whole} mL. Look for a leak, a spill or"
        " a pour nobody wrote down."
    )
    notice.post_locked(
        work, kind="vessel-loss", subject=f"level:{reading.public_id}", text=text,
        path=f"vessels/{vessel.public_id}", to_roles=(Role.TECHNICIAN,),
    )  # fmt: skip
