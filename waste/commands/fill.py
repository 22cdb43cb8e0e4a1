"""Pours: before the act a plan, which may be refused; after it a report, which is written whatever it says."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db.models import F

from accounts.acts import Act, Role
from accounts.commands import notice, scope
from accounts.commands.entry import Work, command
from accounts.models import Entry
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Malformed, NotAllowed, Refusal, Unworkable
from waste.commands.container import found_locked, quarantine_locked
from waste.models import Container, ContainerState, ContainerStep, Fill, Stream
from waste.science import fill as rules
from waste.science.stream import UNIDENTIFIED, belongs

MANUAL = "manual"
DAILY = frozenset({rules.OVERFULL, rules.UNOPENED})


@command(Act.FILL_CREATE)
def pour(
    work: Work,
    *,
    container: UUID,
    stream: UUID | None,
    volume: int,
    text: str,
    happened: bool = True,
    typed: Mapping[str, str] | None = None,
) -> Fill:
    """Pour a liquid that stands in no vessel here, described in words; ``stream`` None is a liquid nobody knows."""
    target = scope.named(
        Container.objects.filter(darkroom=work.darkroom), container, pointer="/container", noun="container"
    )
    liquid = UNIDENTIFIED
    if stream is not None:
        known = Stream.objects.filter(darkroom=work.darkroom)
        liquid = scope.named(known, stream, pointer="/stream", noun="stream").sort
    origin = {"kind": MANUAL, "stream": liquid, "text": text} | ({"typed": dict(typed)} if typed else {})
    return pour_locked(work, container=target, volume=volume, origin=origin, happened=happened)


@command(Act.FILL_REVERSE)
def reverse(work: Work, fill: Fill, *, reason: str) -> Fill:
    """Take a manual pour back, with the reason: its author at any time, else a technician or an instructor."""
    entry = Entry.objects.get(pk=fill.entry_id)
    if work.by.pk not in {entry.by_id, entry.on_behalf_of_id} and not work.by.holds(Role.TECHNICIAN, Role.INSTRUCTOR):
        words = "Only who entered it takes it back, or a technician or an instructor. Ask one of them."
        raise NotAllowed("act.forbidden", words, roles=[Role.INSTRUCTOR.value, Role.TECHNICIAN.value])
    if fill.origin["kind"] != MANUAL and fill.reverses_id is None:
        words = "This pour is part of something else. Take that back, and the pour goes with it."
        raise Clash("fill.dependent", words, origin=fill.origin["kind"])
    return reverse_locked(work, fill, reason=reason)


def pour_locked(work: Work, *, container: Container, volume: int, origin: Mapping[str, Any], happened: bool) -> Fill:
    """Pour ``volume`` (0.1 mL) within another command: refused as a plan, or written and flagged as a report.

    ``origin`` is the snapshot kept for ever, ids and chemistry but no names of people: ``kind`` (what wrote it),
    ``text``, ``stream`` (from ``sort_of``; None compares nothing) and whatever figures the caller knows.
    Read ``flags`` and ``container`` off the answer: the container passed in is left as it was.
    """
    if volume <= 0:
        raise Malformed("volume.too_small", "The smallest pour that is written down is 0.1 mL.", pointer="/volume")
    container = found_locked(work, container)
    liquid = origin.get("stream")
    judgement = rules.judge(
        _state_then(work, container), container.contents, container.working_fill, container.rated, volume,
        same_stream=belongs(liquid, container.stream.sort, container.contents),
    )  # fmt: skip
    if not happened and not judgement.allowed:
        raise _refusal(container, judgement, liquid or container.stream.sort, volume)
    fill = _write(work, container, volume, origin=dict(origin), flags=list(judgement.flags))
    if judgement.quarantines:
        quarantine_locked(work, container, judgement.reason)
    if judgement.flags:
        _tell(work, fill, judgement)
    return fill


def reverse_locked(work: Work, fill: Fill, *, reason: str = "") -> Fill:
    """Write the negative row of a pour; a quarantine it caused stays until somebody clears it."""
    if fill.reverses_id is not None or Fill.objects.filter(reverses=fill).exists():
        words = "This pour is taken back already. If that was wrong, write the pour down anew."
        raise Clash("fill.reversed", words, id=str(fill.public_id))
    container = found_locked(work, fill.container)
    origin = fill.origin | ({"reason": reason} if reason else {})
    return _write(work, container, -fill.volume, origin=origin, reverses=fill)


def _write(work: Work, container: Container, volume: int, **fields: Any) -> Fill:
    """Write one ledger row and move the running total, guarded against a total that is not the one judged."""
    fill = Fill.objects.create(
        container=container, volume=volume, entry_id=work.entry_id, occurred_at=work.occurred_at, **fields
    )
    judged = Container.objects.filter(pk=container.pk, contents=container.contents)
    if judged.update(contents=F("contents") + volume, version=F("version") + 1) != 1:
        raise AssertionError(f"container {container.code} changed under the darkroom's lock")
    container.contents += volume
    container.version += 1
    return fill


def _state_then(work: Work, container: Container) -> str:
    """Return the state the container was in when it happened: a late report is judged by that moment."""
    if not work.late:
        return container.state
    step = ContainerStep.objects.last_by(container, work.occurred_at)
    return step.became if step else "unopened"


def _refusal(container: Container, judgement: rules.Judgement, liquid: str, volume: int) -> Refusal:
    """Word a refused plan with the containers that would take it."""
    offers = _offers(container, liquid, volume)
    if offers:
        first = offers[0]
        room = f"{millilitres(first.room)} mL of room"
        allowed = f"Use {first.name} ({first.code}){_at(first)}, which has {room}."
    elif judgement.flags[0] == rules.OVERFULL and judgement.room:
        allowed = f"{millilitres(judgement.room)} mL still go in; no other open container takes it all."
    else:
        allowed = "No open container takes it: ask a technician to set one up or to empty one."
    kind: type[Refusal] = Unworkable if rules.WRONG_STREAM in judgement.flags else Clash
    return kind(
        judgement.flags[0],
        f"{judgement.reason} {allowed} If it has been poured already, report it as happened.",
        flags=list(judgement.flags),
        room_ml=f"{millilitres(judgement.room)}",
        allowed=[_offer(each) for each in offers],
    )


def _offers(refused: Container, liquid: str, volume: int) -> list[Container]:
    """Return the other open containers that take it all, the fullest first."""
    others = Container.objects.of(refused.darkroom).exclude(pk=refused.pk).taking(volume).order_by("-contents", "pk")
    return [each for each in others if belongs(liquid, each.stream.sort, each.contents)]


def _offer(container: Container) -> dict[str, str]:
    return {
        "id": str(container.public_id),
        "code": container.code,
        "name": container.name,
        "location": container.location,
        "room_ml": f"{millilitres(container.room)}",
    }


def _at(container: Container) -> str:
    return f" at {container.location}" if container.location else ""


def _tell(work: Work, fill: Fill, judgement: rules.Judgement) -> None:
    """Tell the technicians: of a doubtful pour each time and unmutably, of a full container once a day."""
    worst, container = judgement.flags[0], fill.container
    daily = DAILY.issuperset(judgement.flags)
    reasons = " ".join(rules.REASONS[flag] for flag in judgement.flags)
    stands = " It is quarantined until you clear it." if container.state == ContainerState.QUARANTINED else ""
    notice.post_locked(
        work,
        kind=worst.replace(".", "-").replace("_", "-"),
        subject=f"container:{container.public_id}" if daily else f"fill:{fill.public_id}",
        text=f"{millilitres(fill.volume)} mL went into {container.name} ({container.code}). {reasons}{stands}",
        path=f"containers/{container.public_id}",
        to_roles=(Role.TECHNICIAN,),
        safety=not daily,
    )
