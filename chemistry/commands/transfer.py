"""Transfers: reports of liquid moved. Chemistry flags them and may stop a vessel; only what cannot be is refused."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import Any
from uuid import UUID

from django.db import transaction

from accounts.acts import Act
from accounts.commands import entry
from accounts.commands.entry import Ask, Work, command
from accounts.models import Entry
from chemistry.commands import emptying, moving, reversal
from chemistry.commands.moving import Done
from chemistry.models import FormulaVersion, Reversal, Transfer, TransferKind, Vessel
from chemistry.science.verdict import Verdict
from darkroom_service import clock

# What each kind does, given the body's words; a kind that is not here belongs to another act.
DOING: dict[TransferKind, Callable[..., Done]] = {
    TransferKind.DECANT: partial(moving.between, kind=TransferKind.DECANT),
    TransferKind.TOP_UP: partial(moving.between, kind=TransferKind.TOP_UP),
    TransferKind.COMBINE: partial(moving.between, kind=TransferKind.COMBINE),
    TransferKind.POUR_BACK: partial(moving.between, kind=TransferKind.POUR_BACK),
    TransferKind.DILUTE: moving.dilute,
    TransferKind.OPEN: moving.open_pack,
    TransferKind.EMPTY: emptying.empty,
    TransferKind.SPILL: emptying.spill,
    TransferKind.DRAIN: emptying.drain,
}


@dataclass(frozen=True)
class Check:
    """What the rules would say of a transfer, nothing being written; ``liquids`` are what would be poured and made."""

    flags: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    liquids: tuple[tuple[FormulaVersion, str], ...]


@command(Act.TRANSFER_CREATE)
def create(work: Work, /, *, kind: TransferKind, **given: Any) -> Transfer:
    """Write a transfer of any kind; ``given`` is what its kind takes."""
    return DOING[kind](work, **given).transfer


@command(Act.TRANSFER_CREATE)
def decant(
    work: Work, *, source: UUID, target: UUID, volume: int | None = None, warm_c: Decimal | None = None
) -> Transfer:
    """Pour from one vessel into another; into an empty one it begins a filling, else it joins what is there."""
    return DOING[TransferKind.DECANT](work, source=source, target=target, volume=volume, warm_c=warm_c).transfer


@command(Act.TRANSFER_CREATE)
def dilute(work: Work, *, source: UUID, target: UUID, volume: int, dilution: str) -> Transfer:
    """Make a working solution in a vessel, in one act with no approval, rest or test."""
    return moving.dilute(work, source=source, target=target, volume=volume, dilution=dilution).transfer


@command(Act.TRANSFER_CREATE)
def open(work: Work, /, *, pack: UUID, **bottle: Any) -> Transfer:
    """Open a pack of liquid concentrate: its bottle becomes a vessel."""
    return moving.open_pack(work, pack=pack, **bottle).transfer


@command(Act.TRANSFER_CREATE)
def empty(work: Work, *, source: UUID, container: UUID, volume: int | None = None) -> Transfer:
    """Pour a vessel out into a waste container."""
    return emptying.empty(work, source=source, container=container, volume=volume).transfer


@command(Act.TRANSFER_REVERSE)
def reverse(work: Work, transfer: Transfer, *, reason: str) -> Reversal:
    """Take a transfer back; what it brought goes back, and what is gone since comes from unaccounted."""
    made, _ = reversal.reverse_locked(work, Entry.objects.get(pk=transfer.entry_id), reason=reason)
    if transfer.kind == TransferKind.REPLENISH and transfer.target_id:
        vessel = Vessel.objects.get(pk=transfer.target_id)
        vessel.replenish_owed += transfer.volume
        vessel.save(update_fields=["replenish_owed"])
    return made


def check(ask: Ask, *, kind: TransferKind, **given: Any) -> Check:
    """Say what would be said of a transfer: it is done under the lock as ever, and taken out again before it shows."""
    with transaction.atomic(durable=True):
        head = entry.lock(ask.darkroom_id)
        by, now = entry.membership(ask.darkroom_id, ask.person_id), clock.now()
        entry.permit(by, Act.TRANSFER_CREATE, occurred_at=now, now=now)
        work = Work(by.darkroom, by, None, Act.TRANSFER_CREATE, head.seq + 1, now, now)
        found = _standing(work, given)
        done = DOING[kind](work, **given)
        found += _standing(work, {"target": done.transfer.target and done.transfer.target.public_id})
        transaction.set_rollback(True)
    return Check(tuple(done.transfer.flags), done.verdicts, tuple(found))


def _standing(work: Work, given: Mapping[str, Any]) -> list[tuple[FormulaVersion, str]]:
    """Return the liquids of the vessels that are named, with the strength they stand at."""
    named = [given[name] for name in ("source", "target") if given.get(name)]
    rows = Vessel.objects.filter(darkroom=work.darkroom, public_id__in=named, contents__gt=0).exclude(batch=None)
    batches = [row.batch for row in rows.select_related("batch__formula_version__formula").order_by("pk") if row.batch]
    return [(each.formula_version, each.dilution) for each in batches]
