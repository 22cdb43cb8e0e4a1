"""Vessels themselves: labelled, named, lent out; what goes in and out of them is told by ``transfer``."""

from collections.abc import Callable
from datetime import date, datetime
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import scope
from accounts.commands.coding import fresh_code
from accounts.commands.entry import Work, command, roles_at
from accounts.models import Membership
from chemistry.commands.ledger import Book
from chemistry.models import Batch, Origin, Vessel
from darkroom_service.localday import day_of
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Malformed, NotAllowed

Unchanged = Callable[[int], None]
SMALLEST, LARGEST = 100, 10_000_000  # 10 mL, 1000 L


@command(Act.VESSEL_CREATE)
def create(
    work: Work, *, name: str, nominal: int, material: str, owner: UUID | None = None, leave_by: date | None = None
) -> Vessel:
    """Label a new, empty vessel of ``nominal`` 0.1 mL; with an owner it is that person's own bottle."""
    return create_locked(work, name=name, nominal=nominal, material=material, owner=owner, leave_by=leave_by)


def create_locked(
    work: Work, *, name: str, nominal: int, material: str, owner: UUID | None = None, leave_by: date | None = None
) -> Vessel:
    """Label a new vessel within another command."""
    if not SMALLEST <= nominal <= LARGEST:
        words = "A vessel holds from 10 mL to 1000 L. Check the number and its unit."
        raise Malformed("vessel.absurd_size", words, pointer="/nominal")
    whose = _owner(work, owner)
    if leave_by and whose is None:
        words = "Only a bottle of somebody's own has a leave-by date: name its owner too."
        raise Malformed("vessel.owner_missing", words, pointer="/owner")
    _check_leave_by(work, leave_by)
    return Vessel.objects.create(
        darkroom=work.darkroom, code=fresh_code(work, Vessel), name=name, nominal=nominal, material=material,
        owner=whose, leave_by=leave_by,
    )  # fmt: skip


@command(Act.VESSEL_CREATE)
def edit(work: Work, vessel: Vessel, *, unchanged: Unchanged, name: str = "", leave_by: date | None = None) -> Vessel:
    """Rename a vessel, or move the day its owner takes it away; what is left out stays."""
    row = reread(vessel)
    unchanged(row.version)
    if not (is_staff(work.by) or is_own(work.by, row)):
        words = "A member changes only a bottle of their own; a technician or an instructor changes the others."
        raise NotAllowed("vessel.not_yours", words)
    if leave_by and row.owner_id is None:
        words = "This vessel belongs to the darkroom: only a bottle of somebody's own has a leave-by date."
        raise Malformed("vessel.owner_missing", words, pointer="/leave_by")
    _check_leave_by(work, leave_by)
    row.name, row.leave_by = name or row.name, leave_by or row.leave_by
    row.version += 1
    row.save(update_fields=["name", "leave_by", "version"])
    return row


def reread(vessel: Vessel) -> Vessel:
    """Return a vessel as it is after the lock, with all that the rules need."""
    return Vessel.objects.with_contents().get(pk=vessel.pk)


def named(work: Work, public_id: UUID, *, pointer: str) -> Vessel:
    """Return a vessel that a request's body names, with all that the rules need."""
    here = Vessel.objects.with_contents().filter(darkroom=work.darkroom)
    return scope.named(here, public_id, pointer=pointer, noun="vessel")


def batch_then(book: Book, vessel: Vessel) -> Batch:
    """Return the batch that stood in a vessel when something happened; before its first filling nothing can have."""
    batch = book.batch_of(vessel)
    if batch is None and vessel.batch is None:
        words = f"By the record {vessel.name} was never filled. Record what was put into it first."
        raise Clash("vessel.unfilled", words, vessel=str(vessel.public_id))
    if batch is None:
        words = f"{vessel.name} had not been filled yet at that time. Give the time it happened."
        raise Malformed("time.before_filling", words, pointer="/occurred_at")
    check_mixed(batch, book.at)
    return batch


def check_mixed(batch: Batch, at: datetime) -> None:
    """Refuse a time before a batch was mixed. What was blended since may have been used before that, in its parts."""
    if batch.origin == Origin.MIXED and batch.mixed_at and at < batch.mixed_at:
        words = f"Batch {batch.code} was mixed at {batch.mixed_at:%Y-%m-%d %H:%M} UTC, after that. Give a later time."
        raise Malformed("time.before_mixing", words, pointer="/occurred_at", mixed_at=batch.mixed_at.isoformat())


def check_volume(volume: int, *, pointer: str) -> None:
    """Refuse so little that nothing is left of it on the grid of 0.1 mL."""
    if volume < 1:
        raise Malformed("volume.too_small", "The smallest volume that is written down is 0.1 mL.", pointer=pointer)


def check_size(vessel: Vessel, volume: int, *, pointer: str) -> None:
    """Refuse what the vessel could not hold were it empty: more than 5 % above its nominal volume."""
    if volume * 100 > vessel.nominal * 105:
        words = f"{vessel.name} holds {millilitres(vessel.nominal)} mL. Check the volume, its unit and the vessel."
        raise Malformed("vessel.impossible_volume", words, pointer=pointer)


def is_staff(member: Membership) -> bool:
    """Tell whether somebody looks after the room's chemistry."""
    return member.holds(Role.TECHNICIAN, Role.INSTRUCTOR)


def was_staff(work: Work) -> bool:
    """Tell whether the asker looks after the room's chemistry now, or did when a late report happened."""
    then = work.late and roles_at(work.by, work.occurred_at) & {Role.TECHNICIAN, Role.INSTRUCTOR}
    return is_staff(work.by) or bool(then)


def is_own(member: Membership, vessel: Vessel) -> bool:
    """Tell whether a vessel is somebody's own bottle."""
    return vessel.owner_id is not None and vessel.owner_id == member.pk


def _owner(work: Work, owner: UUID | None) -> Membership | None:
    if owner is None:
        if not is_staff(work.by):
            words = "A member labels only a bottle of their own: name yourself as its owner, or ask a technician."
            raise NotAllowed("vessel.not_yours", words)
        return None
    here = Membership.objects.active().filter(darkroom=work.darkroom)
    whose = scope.named(here, owner, pointer="/owner", noun="member")
    if whose.pk != work.by.pk and not is_staff(work.by):
        words = "A member labels only a bottle of their own; ask a technician to label one for somebody else."
        raise NotAllowed("vessel.not_yours", words)
    return whose


def _check_leave_by(work: Work, leave_by: date | None) -> None:
    if leave_by and leave_by < day_of(work.recorded_at, work.darkroom.zone):
        words = "The day it is taken away is today or later."
        raise Malformed("vessel.leave_by_past", words, pointer="/leave_by")
