"""Liquid leaving a vessel for good: to waste, down the drain, or spilled."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID

from accounts.commands import scope
from accounts.commands.entry import Work
from chemistry.commands import draining, joining, moving, origin
from chemistry.commands import vessel as vessels
from chemistry.commands.ledger import Book
from chemistry.commands.moving import Done
from chemistry.commands.posting import portion
from chemistry.models import Place, TransferKind, Vessel
from chemistry.science.verdict import Verdict, refused
from darkroom_service.refusal import Malformed, NotAllowed
from waste.commands.drain import Letting, measured, release_locked
from waste.commands.fill import MOP_UP, pour_locked
from waste.models import Container, Fill, Stream
from waste.science.stream import CONTAMINATED_SOLIDS


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
    _settle(book, giver, before)
    return moving.record(book, TransferKind.EMPTY, amount, verdicts, source=giver, more=fill.flags)


def spill(
    work: Work, *, source: UUID, volume: int, mopped: int = 0, container: UUID | None = None, absorbent: str = ""
) -> Done:
    """Write down what was spilled from a vessel; anybody may.

    ``mopped`` of it was soaked up, by ``absorbent``, and went with that into a container for contaminated solids.
    """
    book = Book(work, work.occurred_at)
    giver = vessels.named(work, source, pointer="/source")
    vessels.batch_then(book, giver)
    vessels.check_volume(volume, pointer="/volume")
    bag = _bag(work, container, mopped, volume)
    verdicts = [_spilled(giver), *_late(book, giver)]
    before, flags = giver.contents, []
    if bag is not None:
        flags = to_waste(book, giver, bag, mopped, soaked=absorbent or "absorbent").flags
    if volume > mopped:
        book.leave(giver, volume - mopped, Place.SPILLED)
    joining.restate(book, giver, before)
    return moving.record(book, TransferKind.SPILL, volume, verdicts, source=giver, more=flags)


def drain(
    work: Work, *, source: UUID, volume: int | None = None, figures: Sequence[Mapping[str, Any]] = (), **given: Any
) -> Done:
    """Let a vessel, or so much of it, down the drain under the darkroom's rule; ``given`` is what ``Letting`` takes."""
    book = Book(work, work.occurred_at)
    giver = vessels.named(work, source, pointer="/source")
    vessels.batch_then(book, giver)
    _allow(work, giver)
    amount = moving.all_of(book, giver) if volume is None else volume
    vessels.check_volume(amount, pointer="/volume")
    verdicts = _late(book, giver) + _planned(book, giver)
    told = _snapshot(book, giver, amount) | measured(figures)
    stream = Stream.objects.filter(darkroom=work.darkroom, kind=told["stream"] or "").order_by("pk").first()
    letting = Letting(volume=amount, **given)
    letting = replace(letting, effects=draining.effects(told, letting))
    release = release_locked(work, stream, told, letting)
    before = giver.contents
    book.leave(giver, amount, Place.DRAIN, release=release)
    _settle(book, giver, before)
    return moving.record(book, TransferKind.DRAIN, amount, verdicts, source=giver, more=release.flags)


def to_waste(book: Book, vessel: Vessel, container: Container, volume: int, *, soaked: str = "") -> Fill:
    """Pour so much of a vessel into a waste container, with a snapshot of what it was; flagged where it should not.

    ``soaked``: it is in that absorbent, as solids.
    """
    told = _snapshot(book, vessel, volume)
    if soaked:
        told |= {"kind": MOP_UP, "stream": CONTAMINATED_SOLIDS, "liquid": told["stream"], "absorbent": soaked}
    fill = pour_locked(book.work, container=container, volume=volume, origin=told, happened=True)
    book.leave(vessel, volume, Place.CONTAINER, fill=fill)
    return fill


def _settle(book: Book, vessel: Vessel, before: int) -> None:
    """Restate a vessel that something was poured out of; with the last of it its level is known for sure."""
    if book.anchored(vessel):
        return
    if vessel.contents == 0:
        book.level_known(vessel)
    joining.restate(book, vessel, before)


def _snapshot(book: Book, vessel: Vessel, volume: int) -> dict[str, Any]:
    """Return what so much of a vessel is, with its share of load and area."""
    gone = book.gone(vessel)
    load, area = (0, 0) if gone or not vessel.contents else portion(vessel, min(volume, vessel.contents))
    return origin.snapshot(
        book.batch_of(vessel), wrote="vessel", volume=volume, load=load, area=area,
        film_or_paper="" if gone else vessel.film_or_paper, substances=book.substances,
    )  # fmt: skip


def _bag(work: Work, container: UUID | None, mopped: int, volume: int) -> Container | None:
    """Return the container for what was soaked up, if anything was."""
    if not mopped and container is None:
        return None
    if not 0 < mopped <= volume or container is None:
        words = "Say how much was soaked up, at most what was spilled, and which container the cloths went into."
        raise Malformed("spill.mopped_impossible", words, pointer="/mopped" if container else "/container")
    return scope.named(Container.objects.of(work.darkroom), container, pointer="/container", noun="container")


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
