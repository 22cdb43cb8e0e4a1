"""Liquid that leaves a container: the ledger rows of a pickup, and what can no longer be taken back after it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Sum

from accounts.commands.entry import Work
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Malformed
from waste.commands.container import found_locked, shift_locked, step_locked
from waste.models import Collection, Container, ContainerState, ContainerStep, DrainRelease, Fill, Pickup, Washing

EMPTIED = "container"
PAPER = (
    "way", "carrier", "carrier_authorisation", "destination", "destination_authorisation", "document_number",
    "transport", "treatment", "frequency",
)  # fmt: skip
MORE, LESS = "pickup.more_than_recorded", "pickup.less_than_recorded"


@dataclass(frozen=True)
class Taking:
    """What a pickup took of one container. ``volume`` in 0.1 mL, None is all of it by the record; ``mass_g`` a weight.

    ``emptied``: nothing is left, whatever was recorded. ``stays``: the container itself is used again. ``moved``:
    something was done to the container since it left, which a correction lets be.
    """

    volume: int | None
    emptied: bool
    stays: bool = False
    mass_g: int | None = None
    moved: bool = False


def collect_locked(
    work: Work, pickup: Pickup, container: Container, taking: Taking, *, paper: Mapping[str, Any]
) -> Collection:
    """Book what left a container within another command. It is a report: what the record did not know is ``found``."""
    container = found_locked(work, container)
    if work.occurred_at < container.opened_at:
        words = "This container was not in use yet at that time. Give the time it was collected."
        raise Malformed("time.impossible", words, pointer="/collected_at", earliest=container.opened_at.isoformat())
    # What was poured in afterwards did not go along, but where the container itself is gone with all that is in it.
    stood = contents_then(container, work.occurred_at) if taking.stays or taking.moved else container.contents
    volume = stood if taking.volume is None else taking.volume
    found = volume - stood if taking.emptied else max(volume - stood, 0)
    row = Collection.objects.create(
        pickup=pickup, container=container, volume=volume, found=found, mass_g=taking.mass_g,
        was_state=container.state, paper=dict(paper), entry_id=work.entry_id, occurred_at=work.occurred_at,
    )  # fmt: skip
    shift_locked(container, found - volume)
    if taking.emptied and not taking.moved:
        became = ContainerState.OPEN if taking.stays else ContainerState.COLLECTED
        if container.state == ContainerState.QUARANTINED and taking.stays:
            became = ContainerState.QUARANTINED
        _become(work, container, became, f"pickup {pickup.code}")
    return row


def undo_locked(work: Work, row: Collection, *, reason: str, moved: bool) -> Collection:
    """Take back what a pickup booked out of a container: a mirrored row, and the container as it was before.

    ``moved``: something was done to the container since, so its state stays.
    """
    container = found_locked(work, row.container)
    mirror = Collection.objects.create(
        pickup_id=row.pickup_id, fill_id=row.fill_id, release_id=row.release_id, container=container,
        volume=-row.volume, found=-row.found, mass_g=None if row.mass_g is None else -row.mass_g,
        was_state=container.state,
        paper=row.paper | {"reason": reason}, reverses=row, entry_id=work.entry_id, occurred_at=work.occurred_at,
    )  # fmt: skip
    shift_locked(container, row.volume - row.found)
    if not moved:
        _become(work, container, ContainerState(row.was_state), reason)
    return mirror


def leave_locked(
    work: Work, container: Container, volume: int, where: str, *, fill: Fill | None = None,
    release: DrainRelease | None = None,
) -> Collection:  # fmt: skip
    """Book out what was poured from a container into another one or down the drain, within another command."""
    container = found_locked(work, container)
    found = max(volume - contents_then(container, work.occurred_at), 0)
    stream = container.stream
    paper = dict.fromkeys(PAPER, "") | {"way": "emptying", "destination": where}
    row = Collection.objects.create(
        fill=fill, release=release, container=container, volume=volume, found=found, was_state=container.state,
        paper=paper | {"stream": stream.code, "list_code": stream.list_code}, entry_id=work.entry_id,
        occurred_at=work.occurred_at,
    )  # fmt: skip
    shift_locked(container, found - volume)
    return row


def give_back_locked(work: Work, reason: str, **of: Any) -> None:
    """Let what was poured from a container go back into it, ``of`` the fill or the release that is taken back."""
    row = Collection.objects.select_related("container").get(reverses=None, **of)
    if Washing.objects.filter(container=row.container, entry_id__gt=row.entry_id).exists():
        words = f"Container {row.container.code} was washed since, so it was empty. Write down what is where anew."
        raise Clash("container.washed_since", words, container=str(row.container.public_id))
    undo_locked(work, row, reason=reason, moved=True)


def contents_then(container: Container, at: datetime) -> int:
    """Return what of a container's contents (0.1 mL) went in by an instant: all but what was poured in after it."""
    later = Fill.objects.standing().filter(container=container, occurred_at__gt=at)
    return max(container.contents - (later.aggregate(sum=Sum("volume"))["sum"] or 0), 0)


def judge_reversal(fill: Fill, container: Container) -> None:
    """Refuse to take back a pour of whose liquid some has left since: it is with somebody else now."""
    later = Collection.objects.standing().filter(container=container, entry_id__gt=fill.entry_id, volume__gt=0)
    if container.contents >= fill.volume:
        later = later.filter(occurred_at__gte=fill.occurred_at)
    gone = later.select_related("pickup").order_by("-id").first()
    if gone is None:
        return
    pickup = gone.pickup
    if pickup is None:
        words = f"This liquid was poured on ({gone.paper['destination']}). Take that back first."
        raise Clash("fill.poured_on", words, container=str(container.public_id))
    words = (
        f"This liquid left with pickup {pickup.code}. If less or more left than was written, correct that pickup "
        "with the reason; after that the pour can be taken back, and the pickup told anew."
    )
    raise Clash("fill.collected", words, pickup=str(pickup.public_id), pickup_code=pickup.code)


def flags_of(row: Collection) -> list[str]:
    """Return the rules that what left a container broke."""
    return [MORE] if row.found > 0 else [LESS] if row.found < 0 else []


def worded(row: Collection) -> str:
    """Say in one sentence how a collection differs from the record."""
    amount, code = millilitres(abs(row.found)), row.container.code
    return f"{amount} mL {'more' if row.found > 0 else 'less'} than the record had left container {code}."


def _become(work: Work, container: Container, became: ContainerState, reason: str) -> None:
    if container.state == became:
        return
    last = ContainerStep.objects.filter(container=container).latest("id")
    step_locked(work, container, became, reason=reason, at=max(work.occurred_at, last.occurred_at))
    container.state = became
    if became == ContainerState.OPEN:
        container.closed_at = None
    elif became in {ContainerState.COLLECTED, ContainerState.CLOSED}:
        container.closed_at = container.closed_at or work.occurred_at
    container.save(update_fields=["state", "closed_at"])
