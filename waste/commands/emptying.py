"""A container emptied without a pickup: into another, or down the drain under the rule; both sides in one act."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import scope
from accounts.commands.entry import Work, command
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Malformed, NotAllowed
from waste.commands import drain
from waste.commands.accumulation import silver
from waste.commands.collecting import EMPTIED, contents_then, leave_locked
from waste.commands.container import found_locked
from waste.commands.drain import Letting
from waste.commands.fill import pour_locked
from waste.models import Collection, Container, ContainerState, PickupItem
from waste.science.stream import UNIDENTIFIED


@command(Act.FILL_CREATE)
def into(
    work: Work, held: Container, *, container: UUID, volume: int | None = None, happened: bool = True,
    acknowledged: str = "",
) -> Collection:  # fmt: skip
    """Pour a container, or so much of it (0.1 mL), into another; what is older in either decides how long it waits."""
    held, amount = _source(work, held, volume, happened=happened)
    target = scope.named(Container.objects.of(work.darkroom), container, pointer="/container", noun="container")
    if target.pk == held.pk:
        raise Malformed("container.itself", "Name another container than the one poured out.", pointer="/container")
    fill = pour_locked(
        work, container=target, volume=amount, origin=_snapshot(held, amount), happened=happened,
        acknowledged=acknowledged,
    )  # fmt: skip
    if held.began_at is not None:
        Container.objects.filter(pk=target.pk, began_at__gt=held.began_at).update(began_at=held.began_at)
    return leave_locked(work, held, amount, f"container {target.code}", fill=fill)


@command(Act.DRAIN_RELEASE)
def down(
    work: Work, /, held: Container, *, volume: int | None = None, happened: bool = True,
    figures: Sequence[Mapping[str, Any]] = (), **given: Any,
) -> Collection:  # fmt: skip
    """Let a container, or so much of it, down the drain; ``given`` is what ``Letting`` takes besides."""
    held, amount = _source(work, held, volume, happened=happened)
    told = _snapshot(held, amount) | drain.measured(figures)
    stream = None if told["stream"] == UNIDENTIFIED else held.stream
    release = drain.release_locked(work, stream, told, Letting(amount, happened=happened, **given))
    return leave_locked(work, held, amount, "drain", release=release)


def _source(work: Work, held: Container, volume: int | None, *, happened: bool) -> tuple[Container, int]:
    """Return the container under the lock and how much leaves it; a plan of what is not there is refused."""
    if not work.by.holds(Role.TECHNICIAN, Role.INSTRUCTOR):
        words = "A technician or an instructor empties waste containers. Ask one of them to do it, or to write it down."
        raise NotAllowed("act.forbidden", words, roles=[Role.INSTRUCTOR.value, Role.TECHNICIAN.value])
    held = found_locked(work, held)
    if work.occurred_at < held.opened_at:
        words = "This container was not in use yet at that time. Give the time it was emptied."
        raise Malformed("time.impossible", words, pointer="/occurred_at", earliest=held.opened_at.isoformat())
    there = contents_then(held, work.occurred_at)
    amount = there if volume is None else volume
    if amount <= 0:
        words = f"By the record container {held.code} was empty. Say how much was in it all the same."
        raise Clash("container.empty", words)
    if not happened:
        _judge(held, amount, there)
    return held, amount


def _judge(held: Container, amount: int, there: int) -> None:
    """Refuse to plan what is doubtful, promised to a pickup, or not there."""
    if held.state == ContainerState.QUARANTINED:
        raise Clash("container.quarantined", "Nobody is sure what is in it. Clear it first, or have it collected.")
    if item := PickupItem.objects.filter(container=held, open=True).select_related("pickup").first():
        words = f"It is in pickup {item.pickup.code}. Take it out there, or let that pickup have it."
        raise Clash("pickup.container_held", words, pickup=str(item.pickup.public_id))
    if amount > there:
        held_ml = f"{millilitres(there)}"
        raise Clash("container.more_than_held", f"It holds {held_ml} mL: pour at most that.", contents_ml=held_ml)


def _snapshot(held: Container, amount: int) -> dict[str, Any]:
    """Return what a container's contents are: its stream, or nobody knows once other kinds went in."""
    sort = held.stream.sort
    share = min(Decimal(amount) / held.contents, Decimal(1)) if held.contents else Decimal(0)
    names = ("low", "nominal", "high")
    metal = {
        name: f"{(each * share).quantize(Decimal('0.1')):f}" for name, each in zip(names, silver(held), strict=True)
    }
    told: dict[str, Any] = {"kind": EMPTIED, "text": f"container {held.code}", "container": held.code}
    told["stream"] = sort if set(held.held) <= {sort} else UNIDENTIFIED
    return told | ({"silver_mg": metal} if any(Decimal(each) for each in metal.values()) else {})
