"""Waste containers: set up, closed, reopened, and cleared after something went in that should not have."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F

from accounts.acts import Act
from accounts.commands import scope
from accounts.commands.coding import fresh_code
from accounts.commands.entry import Work, command
from accounts.models import Darkroom
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Malformed
from waste.models import (
    Container,
    ContainerMaterial,
    ContainerState,
    ContainerStep,
    Fill,
    Incident,
    IncidentResolution,
    Stream,
    Washing,
)
from waste.science import fill as rules
from waste.science.compatibility import Verdict
from waste.science.meeting import met

EDITABLE = frozenset({"name", "location"})


@command(Act.CONTAINER_EDIT)
def create(
    work: Work,
    *,
    stream: UUID,
    name: str,
    material: ContainerMaterial,
    rated: int,
    working_fill: int | None = None,
    location: str = "",
) -> Container:
    """Set up an empty container for one stream; volumes in 0.1 mL. It is in use from ``occurred_at`` on."""
    kept = scope.named(Stream.objects.filter(darkroom=work.darkroom), stream, pointer="/stream", noun="stream")
    level = rules.working_fill(rated) if working_fill is None else working_fill
    _judge_volumes(rated, level, "/rated" if working_fill is None else "/working_fill")
    container = Container.objects.create(
        darkroom=work.darkroom, code=fresh_code(work, Container), stream=kept, name=name, material=material,
        rated=rated, working_fill=level, location=location, opened_at=work.occurred_at,
    )  # fmt: skip
    step_locked(work, container, ContainerState.OPEN, was="", reason="", at=work.occurred_at)
    return container


@command(Act.CONTAINER_EDIT)
def edit(work: Work, container: Container, changes: dict[str, Any], *, unchanged: Callable[[int], None]) -> Container:
    """Change a container's name or place. ``unchanged`` is given the version found under the lock."""
    container = found_locked(work, container)
    unchanged(container.version)
    changed = sorted(EDITABLE & changes.keys())
    for name in changed:
        setattr(container, name, changes[name])
    container.version += 1
    container.save(update_fields=[*changed, "version"])
    return container


@command(Act.CONTAINER_EDIT)
def close(work: Work, container: Container, *, reason: str = "") -> Container:
    """Close an open container: nothing more is planned into it."""
    container = found_locked(work, container)
    words = "Only an open container is closed. " + (
        "Clear this one first."
        if container.state == ContainerState.QUARANTINED
        else f"This one is {container.state} already."
    )
    _insist(container, ContainerState.OPEN, words)
    container.closed_at = work.occurred_at
    return _move(work, container, ContainerState.CLOSED, reason)


@command(Act.CONTAINER_EDIT)
def reopen(work: Work, container: Container, *, reason: str = "") -> Container:
    """Open a closed container again, or one that came back from its collection."""
    container = found_locked(work, container)
    words = "Only a closed or collected container is reopened. " + (
        "Clear this one instead." if container.state == ContainerState.QUARANTINED else "This one is open already."
    )
    _insist(container, ContainerState.CLOSED, words, ContainerState.COLLECTED)
    container.closed_at = None
    return _move(work, container, ContainerState.OPEN, reason)


@command(Act.CONTAINER_EDIT)
def clear(work: Work, container: Container, *, reason: str) -> Container:
    """End a quarantine, saying what was found; the container is open or closed again, as it was before.

    With it end the incidents that led to it: the same words answer them.
    """
    container = found_locked(work, container)
    _insist(container, ContainerState.QUARANTINED, "Only a quarantined container is cleared. This one needs nothing.")
    for incident in Incident.objects.filter(container=container).unresolved():
        IncidentResolution.objects.create(
            incident=incident, words=reason, by=work.by, entry_id=work.entry_id, occurred_at=work.occurred_at
        )
    return _move(work, container, ContainerState.CLOSED if container.closed_at else ContainerState.OPEN, reason)


@command(Act.CONTAINER_EDIT)
def wash(work: Work, container: Container, *, how: str) -> Washing:
    """Write down that an empty container was rinsed out: from here on it remembers nothing of what it held."""
    container = found_locked(work, container)
    if container.contents:
        words = (
            f"There are {millilitres(container.contents)} mL in it by the record. Empty it first: have it collected, or"
            " pour it into another container of its stream."
        )
        raise Clash("container.not_empty", words, contents_ml=f"{millilitres(container.contents)}")
    if Fill.objects.filter(container=container, occurred_at__gt=work.occurred_at).exists():
        words = "Something was poured in after that time. Give the time it was washed, or leave it out for now."
        raise Malformed("time.impossible", words, pointer="/occurred_at")
    container.held = []
    container.version += 1
    container.save(update_fields=["held", "version"])
    return Washing.objects.create(
        container=container, how=how, by=work.by, entry_id=work.entry_id, occurred_at=work.occurred_at
    )


def quarantine_locked(work: Work, container: Container, reason: str) -> None:
    """Let nothing more go into a container, from the moment this is known."""
    if container.state not in {ContainerState.QUARANTINED, ContainerState.COLLECTED}:
        step_locked(work, container, ContainerState.QUARANTINED, reason=reason, at=work.recorded_at)
        container.state = ContainerState.QUARANTINED
        container.save(update_fields=["state"])


def found_locked(work: Work, container: Container) -> Container:
    """Read a container again under the lock: the caller's copy may be older than the last pour."""
    return Container.objects.of(work.darkroom).get(pk=container.pk)


def step_locked(
    work: Work, container: Container, became: ContainerState, *, reason: str, at: datetime, was: str | None = None
) -> None:
    """Write down a change of state, from the one the container is in now unless told otherwise; the caller makes it."""
    ContainerStep.objects.create(
        container=container, was=container.state if was is None else was, became=became, reason=reason, by=work.by,
        entry_id=work.entry_id, occurred_at=at,
    )  # fmt: skip


def shift_locked(container: Container, change: int, **also: Any) -> None:
    """Move the running total (0.1 mL), and ``also`` along, guarded against a total that is not the one judged."""
    judged = Container.objects.filter(pk=container.pk, contents=container.contents)
    if judged.update(contents=F("contents") + change, version=F("version") + 1, **also) != 1:
        raise AssertionError(f"container {container.code} changed under the darkroom's lock")
    container.contents += change
    container.version += 1


def next_open(darkroom: Darkroom, stream: Stream, *, volume: int = 1) -> Container | None:
    """Return the open container of a stream that takes so much (0.1 mL): the fullest, to finish it before another.

    An empty one that last held something else and was not washed is passed over.
    """
    rows = Container.objects.of(darkroom).filter(stream=stream).taking(volume).order_by("-contents", "pk")
    return next((each for each in rows if met(stream.sort, stream.sort, each.held).verdict is Verdict.MEET), None)


def _move(work: Work, container: Container, became: ContainerState, reason: str) -> Container:
    """Write a change of state, which cannot be dated before the one before it."""
    last = ContainerStep.objects.filter(container=container).latest("id")
    if work.occurred_at < last.occurred_at:
        words = f"This container became {last.became} after that time. Give a later time, or leave it out for now."
        raise Malformed("time.impossible", words, pointer="/occurred_at", after=last.occurred_at)
    step_locked(work, container, became, reason=reason, at=work.occurred_at)
    container.state = became
    container.version += 1
    container.save(update_fields=["state", "closed_at", "version"])
    return container


def _insist(container: Container, state: ContainerState, words: str, *others: ContainerState) -> None:
    if container.state not in {state, *others}:
        raise Clash(f"container.{container.state}", words, state=container.state)


def _judge_volumes(rated: int, level: int, pointer: str) -> None:
    if not 0 < level <= rated:
        words = f"A container is filled to more than nothing and at most what it holds: {millilitres(rated)} mL."
        raise Malformed("container.working_fill_impossible", words, pointer=pointer, rated_ml=f"{millilitres(rated)}")
