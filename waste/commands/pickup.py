"""Pickups and other ways out: planned, prepared, confirmed by a second person where the darkroom asks for one."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from accounts.acts import Act
from accounts.commands import scope
from accounts.commands.coding import fresh_code
from accounts.commands.entry import Work, command
from darkroom_service.localday import day_of
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Malformed
from waste.models import Container, ContainerState, Pickup, PickupItem, PickupState, Way
from waste.models.pickup import OPEN_STATES

WORDS = frozenset({
    "carrier", "carrier_authorisation", "destination", "destination_authorisation", "document_number", "transport",
    "treatment", "frequency", "note",
})  # fmt: skip
EDITABLE = WORDS | {"planned_for", "way"}


@dataclass(frozen=True)
class Item:
    """One container to take along: all of it, or so much in 0.1 mL; ``stays`` where only its liquid goes."""

    container: UUID
    volume: int | None = None
    stays: bool = False


@command(Act.PICKUP_PREPARE)
def plan(work: Work, /, *, way: Way, planned_for: date, items: Sequence[Item], **words: str) -> Pickup:
    """Plan a way out for some containers; each can be in one open pickup only."""
    pickup = Pickup(
        darkroom=work.darkroom, code=fresh_code(work, Pickup), way=way, planned_for=planned_for, planned_by=work.by,
        **{name: words[name] for name in sorted(WORDS & words.keys())},
    )  # fmt: skip
    pickup.save(force_insert=True)
    _put_in(work, pickup, items)
    return pickup


@command(Act.PICKUP_PREPARE)
def edit(
    work: Work, pickup: Pickup, changes: dict[str, Any], *, items: Sequence[Item] | None = None,
    unchanged: Callable[[int], None],
) -> Pickup:  # fmt: skip
    """Change an open pickup. A prepared one is planned again: nobody confirms what its preparer did not see."""
    pickup = found_locked(work, pickup)
    unchanged(pickup.version)
    insist(pickup, *OPEN_STATES)
    for name in sorted(EDITABLE & changes.keys()):
        setattr(pickup, name, changes[name])
    if items is not None:
        pickup.items.all().delete()
        _put_in(work, pickup, items)
    pickup.state, pickup.prepared_by, pickup.prepared_at = PickupState.PLANNED, None, None
    return save(pickup)


@command(Act.PICKUP_PREPARE)
def prepare(work: Work, pickup: Pickup) -> Pickup:
    """Say that it stands ready: closed, labelled, papers filled in. Whoever says so is the preparer."""
    pickup = found_locked(work, pickup)
    insist(pickup, PickupState.PLANNED)
    missing = [name for name in _needed(Way(pickup.way)) if not getattr(pickup, name)]
    if missing:
        names = ", ".join(name.replace("_", " ") for name in missing)
        words = f"Before it is prepared a pickup needs its {names}. Fill them in, then prepare it."
        raise Clash("pickup.incomplete", words, missing=missing)
    for item in pickup.items.select_related("container"):
        _judge_item(item, f"the pickup of container {item.container.code}")
    pickup.state, pickup.prepared_by, pickup.prepared_at = PickupState.PREPARED, work.by, work.occurred_at
    return save(pickup)


@command(Act.PICKUP_PREPARE)
def cancel(work: Work, pickup: Pickup, *, reason: str) -> Pickup:
    """Call an open pickup off; its containers are free for another."""
    pickup = found_locked(work, pickup)
    insist(pickup, *OPEN_STATES)
    pickup.items.update(open=False)
    pickup.state, pickup.reason = PickupState.CANCELLED, reason
    return save(pickup)


@command(Act.PICKUP_PREPARE)
def receive_copy(work: Work, pickup: Pickup, *, returned_on: date) -> Pickup:
    """Write down that the signed copy or the receipt came back, on a day between the collection and today."""
    pickup = found_locked(work, pickup)
    insist(pickup, PickupState.CONFIRMED)
    collected = day_of(pickup.collected_at, work.darkroom.zone) if pickup.collected_at else returned_on
    today = day_of(work.recorded_at, work.darkroom.zone)
    if not collected <= returned_on <= today:
        words = f"A copy comes back on a day from {collected} (collected) to {today} (today). Give that day."
        raise Malformed("pickup.dates_out_of_order", words, pointer="/returned_on", earliest=str(collected))
    if pickup.returned_on is not None:
        words = f"The copy is back already, since {pickup.returned_on}. Nothing more is asked for."
        raise Clash("pickup.copy_returned", words, returned_on=str(pickup.returned_on))
    pickup.returned_on = returned_on
    return save(pickup)


def found_locked(work: Work, pickup: Pickup) -> Pickup:
    """Read a pickup again under the lock."""
    return Pickup.objects.get(darkroom=work.darkroom, pk=pickup.pk)


def save(pickup: Pickup) -> Pickup:
    """Save a pickup as its next version."""
    pickup.version += 1
    pickup.save()
    return pickup


def insist(pickup: Pickup, *states: PickupState) -> None:
    """Refuse what a pickup's state does not allow."""
    if pickup.state in states:
        return
    now = {
        "planned": "It is planned: prepare it first.",
        "prepared": "It is prepared already: confirm it, change it or cancel it.",
        "confirmed": "It was confirmed: what really left can be corrected, with the reason.",
        "cancelled": "It was cancelled: plan a new one.",
    }[pickup.state]
    needed = " or ".join(states)
    raise Clash(f"pickup.{pickup.state}", f"This needs a pickup that is {needed}. {now}", state=pickup.state)


def _put_in(work: Work, pickup: Pickup, items: Sequence[Item]) -> None:
    """Put containers into a pickup, each once and free of any other open one."""
    if not items:
        raise Malformed("pickup.empty", "A pickup takes at least one container.", pointer="/items")
    wanted = [item.container for item in items]
    if len(set(wanted)) < len(wanted):
        words = "A container stands twice here. Name each once, with the volume that goes in all."
        raise Malformed("pickup.container_twice", words, pointer="/items")
    rows = scope.all_named(Container.objects.of(work.darkroom), wanted, pointer="/items", noun="container")
    held = PickupItem.objects.filter(container__in=rows, open=True).exclude(pickup=pickup)
    if other := held.select_related("pickup", "container").order_by("pk").first():
        words = (
            f"Container {other.container.code} is in pickup {other.pickup.code} already. "
            "Take it out there, cancel that pickup, or leave it out here."
        )
        facts = {"container": str(other.container.public_id), "pickup": str(other.pickup.public_id)}
        raise Clash("pickup.container_held", words, **facts)
    for position, (item, row) in enumerate(zip(items, rows, strict=True)):
        made = PickupItem(pickup=pickup, container=row, volume=item.volume, stays=item.stays)
        _judge_item(made, "this", f"/items/{position}/volume")
        made.save(force_insert=True)


def _judge_item(item: PickupItem, what: str, pointer: str = "") -> None:
    """Refuse to plan what is not there: a container already collected, or more than it holds."""
    container = item.container
    if container.state == ContainerState.COLLECTED:
        words = f"Container {container.code} was collected already. Leave it out of {what}."
        raise Clash("container.collected", words, container=str(container.public_id))
    if item.volume is not None and item.volume > container.contents:
        held = f"{millilitres(container.contents)}"
        words = f"Container {container.code} holds {held} mL: plan at most that, or leave the volume out for all of it."
        raise Clash("pickup.more_than_held", words, contents_ml=held, pointer=pointer)


def _needed(way: Way) -> tuple[str, ...]:
    """Return what must be filled in before a pickup is prepared: who takes it, by what right, where to, how treated."""
    if way == Way.HANDOVER:
        return ("destination",)
    where = ("destination", "destination_authorisation", "transport", "treatment")
    return (
        where if way == Way.DELIVERY else ("carrier", "carrier_authorisation", "destination", "transport", "treatment")
    )
