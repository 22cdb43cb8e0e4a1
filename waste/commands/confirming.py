"""The confirmation of a pickup, which books out what left, and its correction when that was written wrongly."""

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Entry, SecondPerson
from darkroom_service.localday import day_of
from darkroom_service.refusal import Clash, Malformed, NotAllowed
from waste.commands import collecting
from waste.commands.collecting import Taking
from waste.commands.pickup import found_locked, insist, save
from waste.models import (
    Collection,
    ContainerState,
    ContainerStep,
    Pickup,
    PickupItem,
    PickupState,
    Washing,
    Way,
)
from waste.science.pickup import copy_due

ALONE, UNNUMBERED = "pickup.alone", "pickup.no_document_number"


@dataclass(frozen=True)
class Left:
    """What really left one container, in 0.1 mL and g; ``emptied`` says that nothing is left in it."""

    container: UUID
    volume: int | None = None
    emptied: bool | None = None
    mass_g: int | None = None


@command(Act.PICKUP_CONFIRM)
def confirm(
    work: Work, pickup: Pickup, *, left: Sequence[Left] = (), document_number: str = "", reason: str = ""
) -> Pickup:
    """Confirm that a prepared pickup left, ``occurred_at``: a report but for who may say so.

    What is not named in ``left`` went as planned. Differences from the record are written and flagged.
    """
    pickup = found_locked(work, pickup)
    insist(pickup, PickupState.PREPARED)
    flags = _second_person(work, pickup)
    pickup.document_number = document_number or pickup.document_number
    if not pickup.document_number and pickup.way != Way.HANDOVER:
        flags.append(UNNUMBERED)
    items = list(pickup.items.select_related("container__stream").order_by("pk"))
    rows = _book(work, pickup, items, _named(items, left))
    pickup.items.update(open=False)
    pickup.state, pickup.confirmed_by, pickup.collected_at = PickupState.CONFIRMED, work.by, work.occurred_at
    pickup.returned_due = copy_due(work.darkroom.country_rules, day_of(work.occurred_at, work.darkroom.zone))
    pickup.flags = list(dict.fromkeys([*flags, *(flag for row in rows for flag in collecting.flags_of(row))]))
    pickup.reason = reason
    _tell(work, pickup, rows)
    return save(pickup)


@command(Act.PICKUP_CORRECT)
def correct(work: Work, pickup: Pickup, *, left: Sequence[Left], reason: str) -> Pickup:
    """Correct what a confirmed pickup took: the rows of the containers named are taken back and written anew.

    A volume of nothing, not emptied, says that the container never left.
    """
    pickup = found_locked(work, pickup)
    insist(pickup, PickupState.CONFIRMED)
    items = list(pickup.items.select_related("container__stream").order_by("pk"))
    told = _named(items, left)
    chosen = [item for item in items if item.container_id in told]
    # Dated as what it corrects: the log of that time then shows what really left, not both.
    work.occurred_at = pickup.collected_at or work.occurred_at
    since, ids = _confirmed_by(pickup), [item.container_id for item in chosen]
    moved, washed = _moved_since(pickup, since), _washed_since(ids, since)
    for row in pickup.collections.standing().filter(container__in=ids).select_related("container"):
        _judge_next(row)
        collecting.undo_locked(work, row, reason=reason, moved=row.container_id in moved)
    for item in chosen:
        item.container.refresh_from_db()
    rows = _book(work, pickup, chosen, told, moved)
    for item in chosen:
        if item.container_id in washed:
            _judge_washed(work, item)
    pickup.flags = list(dict.fromkeys([*pickup.flags, *(flag for row in rows for flag in collecting.flags_of(row))]))
    pickup.reason = reason
    _tell(work, pickup, rows)
    return save(pickup)


def _judge_next(row: Collection) -> None:
    """Refuse to correct below a later pickup of the same container: the last one is corrected first."""
    later = Collection.objects.standing().filter(container=row.container_id, pk__gt=row.pk)
    if other := later.select_related("pickup").order_by("-id").first():
        if other.pickup is None:
            words = f"Container {row.container.code} was emptied ({other.paper['destination']}) after this pickup."
            raise Clash("pickup.later_emptying", f"{words} Take that back first.")
        code = other.pickup.code
        words = f"Container {row.container.code} was in pickup {code} after this one. Correct that one first."
        raise Clash("pickup.later_pickup", words, pickup=str(other.pickup.public_id))


def _confirmed_by(pickup: Pickup) -> int:
    """Return the id of the entry that confirmed a pickup."""
    if pickup.collected_at is None:
        raise AssertionError(f"pickup {pickup.code} was never confirmed")
    acts = Entry.objects.filter(darkroom=pickup.darkroom_id, act=Act.PICKUP_CONFIRM, by=pickup.confirmed_by_id)
    return acts.filter(occurred_at=pickup.collected_at).order_by("id").values_list("id", flat=True)[0]


def _moved_since(pickup: Pickup, entry: int) -> frozenset[int]:
    """Return the containers to whose state something was done since a pickup, but by its own corrections."""
    steps = ContainerStep.objects.filter(container__pickup_items__pickup=pickup, entry_id__gt=entry)
    own = pickup.collections.order_by().values("entry")
    return frozenset(steps.exclude(entry__in=own).order_by().values_list("container", flat=True))


def _washed_since(containers: Sequence[int], entry: int) -> frozenset[int]:
    """Return those of some containers that were rinsed out since an entry."""
    rows = Washing.objects.filter(container__in=containers, entry_id__gt=entry)
    return frozenset(rows.values_list("container", flat=True))


def _judge_washed(work: Work, item: PickupItem) -> None:
    """Refuse a correction by which something would be left in a container that was rinsed out since."""
    container = item.container
    container.refresh_from_db()
    if collecting.contents_then(container, work.occurred_at):
        words = (
            f"Container {container.code} was washed since, so nothing was left in it. Say emptied, with the volume that"
            " left."
        )
        raise Clash("container.washed_since", words, container=str(container.public_id))


def _second_person(work: Work, pickup: Pickup) -> list[str]:
    setting = work.darkroom.second_person_pickup
    if pickup.prepared_by_id != work.by.pk or setting == SecondPerson.OFF:
        return []
    if setting == SecondPerson.NOTED:
        return [ALONE]
    words = "Here somebody else than who prepared a pickup confirms it. Ask another technician, instructor or admin."
    raise NotAllowed("confirmer.preparer", words, roles=sorted(["technician", "instructor", "admin"]))


def _named(items: Sequence[PickupItem], left: Sequence[Left]) -> dict[int, Left]:
    """Return what was told of each container by its key; only containers of this pickup can be told of."""
    known = {item.container.public_id: item.container_id for item in items}
    told: dict[int, Left] = {}
    for position, each in enumerate(left):
        if each.container not in known or known[each.container] in told:
            words = "Name each container of this pickup at most once."
            raise Malformed("container.not_in_pickup", words, pointer=f"/left/{position}/container")
        told[known[each.container]] = each
    return told


def _book(
    work: Work, pickup: Pickup, items: Sequence[PickupItem], told: Mapping[int, Left], moved: Set[int] = frozenset()
) -> list[Collection]:
    """Write the ledger rows, each with what the papers said."""
    rows = []
    for item in items:
        said = told.get(item.container_id) or Left(item.container.public_id)
        volume = item.volume if said.volume is None else said.volume
        emptied = (item.volume is None and volume != 0) if said.emptied is None else said.emptied
        stream = item.container.stream
        paper = {name: getattr(pickup, name) for name in collecting.PAPER} | {
            "stream": stream.code,
            "list_code": stream.list_code,
        }
        emptied = emptied or _is_all(item, volume)
        taking = Taking(volume, emptied, item.stays, said.mass_g, item.container_id in moved)
        if taking.volume != 0 or taking.emptied:
            rows.append(collecting.collect_locked(work, pickup, item.container, taking, paper=paper))
    return rows


def _is_all(item: PickupItem, volume: int | None) -> bool:
    """Tell whether a part turned out to be all there was."""
    return item.container.contents > 0 and volume == item.container.contents and not item.stays


def _tell(work: Work, pickup: Pickup, rows: Sequence[Collection]) -> None:
    """Tell the technicians and admins what was not as recorded."""
    differing = [collecting.worded(row) for row in rows if row.found]
    doubtful = [
        f"Container {row.container.code} was quarantined."
        for row in rows
        if row.was_state == ContainerState.QUARANTINED
    ]
    if lines := [*differing, *doubtful]:
        notice.post_locked(
            work, kind="pickup-differs", subject=f"pickup:{pickup.public_id}",
            text=f"Pickup {pickup.code}: {' '.join(lines)}", path=f"pickups/{pickup.public_id}",
            to_roles=(Role.TECHNICIAN, Role.ADMIN),
        )  # fmt: skip
