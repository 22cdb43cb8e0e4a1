"""Pours: before the act a plan, which may be refused; after it a report, which is written whatever it says."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import notice, scope
from accounts.commands.entry import Work, command
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Malformed
from waste.commands import incident
from waste.commands.collecting import EMPTIED, give_back_locked, judge_reversal
from waste.commands.container import found_locked, quarantine_locked, shift_locked
from waste.commands.offer import refusal
from waste.commands.reversal import judge_asker
from waste.commands.stream import listed
from waste.models import Container, ContainerState, ContainerStep, Fill, Stream, Washing
from waste.science import fill as rules
from waste.science.compatibility import Meeting, kinds
from waste.science.meeting import met
from waste.science.stream import CONTAMINATED_SOLIDS, UNIDENTIFIED, belongs, starters

MANUAL = "manual"
MOP_UP = "mop-up"
FOUND = "found"
BY_HAND = (MANUAL, FOUND, MOP_UP)
DAILY = frozenset({rules.OVERFULL, rules.UNOPENED, rules.CAUTION})


@dataclass(frozen=True)
class Said:
    """What somebody says of a pour by hand. No ``stream`` and no ``liquid``: nobody knows what it is.

    ``source`` is one of ``BY_HAND``; ``liquid`` a kind by its code where no stream here is for it; ``absorbent`` what
    soaked a spill up; ``acknowledged`` the words a caution was poured with; ``mass`` in g.
    """

    stream: UUID | None
    text: str
    source: str = MANUAL
    liquid: str = ""
    absorbent: str = ""
    acknowledged: str = ""
    mass: int | None = None
    typed: Mapping[str, str] | None = None


@command(Act.FILL_CREATE)
def pour(work: Work, /, *, container: UUID, volume: int, happened: bool = True, **given: Any) -> Fill:
    """Pour a liquid that stands in no vessel here, described in words; ``given`` is what ``Said`` takes."""
    said = Said(**given)
    target = scope.named(Container.objects.of(work.darkroom), container, pointer="/container", noun="container")
    liquid = said.liquid or UNIDENTIFIED
    if said.liquid and said.liquid not in {*kinds(), *starters()}:
        words = f"A liquid is one of {', '.join(kinds())}; leave it out where nobody knows."
        raise Malformed("liquid.unknown", words, pointer="/liquid", kinds=list(kinds()))
    if said.stream is not None:
        known = Stream.objects.filter(darkroom=work.darkroom)
        liquid = scope.named(known, said.stream, pointer="/stream", noun="stream").sort
    origin: dict[str, Any] = {"kind": said.source, "stream": liquid, "text": said.text}
    if said.source == MOP_UP and liquid != CONTAMINATED_SOLIDS:
        origin |= {"stream": CONTAMINATED_SOLIDS, "liquid": liquid}
    told = {"absorbent": said.absorbent, "typed": dict(said.typed) if said.typed else None}
    origin |= {name: value for name, value in told.items() if value}
    word, mass = said.acknowledged, said.mass
    return pour_locked(
        work, container=target, volume=volume, origin=origin, happened=happened, acknowledged=word, mass_g=mass
    )


@command(Act.FILL_REVERSE)
def reverse(work: Work, fill: Fill, *, reason: str) -> Fill:
    """Take a manual pour back, with the reason: its author at any time, else a technician or an instructor."""
    judge_asker(work, fill.entry)
    if fill.origin["kind"] not in {*BY_HAND, EMPTIED} and fill.reverses_id is None:
        words = "This pour is part of something else. Take that back, and the pour goes with it."
        raise Clash("fill.dependent", words, origin=fill.origin["kind"])
    back = reverse_locked(work, fill, reason=reason)
    if fill.origin["kind"] == EMPTIED:
        give_back_locked(work, reason, fill=fill)
    return back


def pour_locked(
    work: Work, *, container: Container, volume: int, origin: Mapping[str, Any], happened: bool,
    acknowledged: str = "", mass_g: int | None = None,
) -> Fill:  # fmt: skip
    """Pour ``volume`` (0.1 mL) within another command: refused as a plan, or written and flagged as a report.

    ``origin`` is the snapshot kept for ever, ids and chemistry but no names of people: ``kind`` (what wrote it),
    ``text``, ``stream`` (from ``sort_of``; None compares nothing), ``liquid`` (what soaks a cloth) and whatever figures
    the caller knows. Read ``flags`` and ``container`` off the answer: the container passed in is left as it was.
    """
    if volume <= 0:
        raise Malformed("volume.too_small", "The smallest pour that is written down is 0.1 mL.", pointer="/volume")
    container = found_locked(work, container)
    liquid, sort = origin.get("stream"), container.stream.sort
    meeting = met(liquid, sort, container.held, soaked=origin.get("liquid"))
    judgement = rules.judge(
        _state_then(work, container), container.contents, container.working_fill, container.rated, volume,
        same_stream=belongs(liquid, sort, container.contents), meeting=meeting.verdict.value,
        acknowledged=bool(acknowledged),
    )  # fmt: skip
    if not happened and not judgement.allowed:
        raise refusal(container, judgement, meeting, liquid or sort, volume)
    flags = [*judgement.flags, *([rules.ACKNOWLEDGED] if judgement.acknowledged else [])]
    fill = _write(work, container, volume, origin=dict(origin), flags=flags, acknowledged=acknowledged, mass_g=mass_g)
    _follow(work, fill, judgement, meeting)
    return fill


def _follow(work: Work, fill: Fill, judgement: rules.Judgement, meeting: Meeting) -> None:
    """Let an incident follow where the contents are doubtful now, a quarantine where nobody knows what they are."""
    if judgement.quarantines:
        incident.of_pour_locked(work, fill, judgement, meeting)
    elif fill.origin.get("stream") == UNIDENTIFIED:
        quarantine_locked(work, fill.container, "Nobody knows what is in it: it waits until somebody finds out.")
    if judgement.flags:
        _tell(work, fill, judgement, meeting)


def reverse_locked(work: Work, fill: Fill, *, reason: str = "") -> Fill:
    """Write the negative row of a pour; a quarantine it caused stays until somebody clears it."""
    if fill.reverses_id is not None or Fill.objects.filter(reverses=fill).exists():
        words = "This pour is taken back already. If that was wrong, write the pour down anew."
        raise Clash("fill.reversed", words, id=str(fill.public_id))
    container = found_locked(work, fill.container)
    judge_reversal(fill, container)
    origin = fill.origin | ({"reason": reason} if reason else {})
    return _write(work, container, -fill.volume, origin=origin, reverses=fill)


def _write(work: Work, container: Container, volume: int, **fields: Any) -> Fill:
    """Write one ledger row and move the running total."""
    at = work.occurred_at
    fill = Fill.objects.create(
        container=container, volume=volume, entry_id=work.entry_id, occurred_at=at,
        listed=listed(container.stream, at), **fields,
    )  # fmt: skip
    if volume > 0:
        container.held = sorted({*container.held, kind_of(fill.origin, container)})
        container.began_at = min(container.began_at or at, at) if container.contents else at
    else:
        container.held = remembered(container)
    shift_locked(container, volume, held=container.held, began_at=container.began_at)
    return fill


def kind_of(origin: Mapping[str, Any], container: Container) -> str:
    """Return the kind of liquid a pour brought; one nobody could tell counts as what the container is kept for."""
    return str(origin.get("liquid") or origin.get("stream") or container.stream.sort)


def remembered(container: Container) -> list[str]:
    """Return the kinds of liquid poured in since the last washing, from the ledger; what was taken back never was."""
    washed = Washing.objects.filter(container=container).order_by("-entry_id").values_list("entry_id", flat=True)
    rows = Fill.objects.standing().filter(container=container)
    if since := washed.first():
        rows = rows.filter(entry_id__gt=since)
    pairs = rows.order_by().values_list("origin__stream", "origin__liquid").distinct()
    return sorted({kind_of({"stream": stream, "liquid": liquid}, container) for stream, liquid in pairs})


def _state_then(work: Work, container: Container) -> str:
    """Return the state the container was in when it happened: a late report is judged by that moment."""
    if not work.late:
        return container.state
    step = ContainerStep.objects.last_by(container, work.occurred_at)
    return step.became if step else "unopened"


def _tell(work: Work, fill: Fill, judgement: rules.Judgement, meeting: Meeting) -> None:
    """Tell the technicians: of a doubtful pour each time and unmutably, of a full container once a day."""
    worst, container = judgement.flags[0], fill.container
    daily = DAILY.issuperset(judgement.flags)
    reasons = " ".join(rules.REASONS[flag] for flag in judgement.flags)
    said = f" {meeting.says}" if rules.INCOMPATIBLE in judgement.flags else ""
    stands = " It is quarantined until you clear it." if container.state == ContainerState.QUARANTINED else ""
    what = f"{millilitres(fill.volume)} mL went into {container.name} ({container.code})."
    notice.post_locked(
        work,
        kind=worst.replace(".", "-").replace("_", "-"),
        subject=f"container:{container.public_id}" if daily else f"fill:{fill.public_id}",
        text=f"{what} {reasons}{said}{stands}",
        path=f"containers/{container.public_id}",
        to_roles=(Role.TECHNICIAN,),
        safety=not daily,
    )
