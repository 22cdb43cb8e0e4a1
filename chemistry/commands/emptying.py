"""Liquid leaving a vessel for good: to waste, or spilled."""

from uuid import UUID

from accounts.commands import scope
from accounts.commands.entry import Work
from chemistry.commands import joining, moving, origin
from chemistry.commands import vessel as vessels
from chemistry.commands.ledger import Book
from chemistry.commands.moving import Done
from chemistry.commands.posting import portion
from chemistry.models import Place, TransferKind, Vessel
from chemistry.science.verdict import Verdict, refused
from darkroom_service.refusal import NotAllowed
from waste.commands.fill import pour_locked
from waste.models import Container, Fill


def empty(work: Work, *, source: UUID, container: UUID, volume: int | None = None) -> Done:
    """Pour a vessel out into a waste container: all of it, or so much, the rest staying in the vessel."""
    book = Book(work, work.occurred_at)
    giver = vessels.named(work, source, pointer="/source")
    here = Container.objects.of(work.darkroom)
    can = scope.named(here, container, pointer="/container", noun="container")
    vessels.batch_then(book, giver)
    _allow(work, giver)
    amount = moving.all_of(book, giver) if volume is None else volume
    verdicts = _late(book, giver) + _planned(book, giver)
    before = giver.contents
    fill = to_waste(book, giver, can, amount)
    if not book.anchored(giver):
        if giver.contents == 0:
            book.level_known(giver)
        joining.restate(book, giver, before)
    return moving.record(book, TransferKind.EMPTY, amount, verdicts, source=giver, more=fill.flags)


def spill(work: Work, *, source: UUID, volume: int) -> Done:
    """Write down what was spilled from a vessel; anybody may."""
    book = Book(work, work.occurred_at)
    giver = vessels.named(work, source, pointer="/source")
    vessels.batch_then(book, giver)
    vessels.check_volume(volume, pointer="/volume")
    verdicts = [_spilled(giver), *_late(book, giver)]
    before = giver.contents
    book.leave(giver, volume, Place.SPILLED)
    joining.restate(book, giver, before)
    return moving.record(book, TransferKind.SPILL, volume, verdicts, source=giver)


def to_waste(book: Book, vessel: Vessel, container: Container, volume: int) -> Fill:
    """Pour so much of a vessel into a waste container, with a snapshot of what it was; flagged where it should not."""
    gone, batch = book.gone(vessel), book.batch_of(vessel)
    load, area = (0, 0) if gone or not vessel.contents else portion(vessel, min(volume, vessel.contents))
    told = origin.snapshot(
        batch, wrote="vessel", volume=volume, load=load, area=area, film_or_paper="" if gone else vessel.film_or_paper
    )
    fill = pour_locked(book.work, container=container, volume=volume, origin=told, happened=True)
    book.leave(vessel, volume, Place.CONTAINER, fill=fill)
    return fill


def _allow(work: Work, vessel: Vessel) -> None:
    """Refuse a member who would pour away what is still good, or somebody else's."""
    if vessels.was_staff(work) or vessels.is_own(work.whom, vessel):
        return
    if vessel.owner_id is None and joining.has_worked(vessel):
        return
    words = (
        "A member empties a used bath or a bottle of their own; what is unused, or somebody else's, is a technician's"
        " or an instructor's. If it has been done already, ask one of them to enter it on your behalf."
    )
    raise NotAllowed("transfer.not_yours", words, roles=["instructor", "technician"])


def _late(book: Book, vessel: Vessel) -> list[Verdict]:
    return [joining.known(vessel)] if book.anchored(vessel) else []


def _planned(book: Book, vessel: Vessel) -> list[Verdict]:
    """Mind what plans still keep of it."""
    if not joining.held(vessel, book.work.recorded_at):
        return []
    words = f"Tanks are planned with {vessel.name}."
    return [refused("vessel.held", words, "wait until they are poured", "tell those who planned them")]


def _spilled(vessel: Vessel) -> Verdict:
    reason = f"Something of {vessel.name} was spilled."
    return refused("vessel.spilled", reason, "wear gloves, wipe it up wet and rinse; ask the technician")
