"""Tray sessions: trays filled for a group in one act, and emptied in one act when it is over. Both are reports."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any
from uuid import UUID

from accounts.acts import Act
from accounts.commands import scope
from accounts.commands.entry import Work, command
from accounts.models.signoff import missing_topics
from chemistry.commands import alert, cost, joining, moving, run
from chemistry.commands import tray as one_tray
from chemistry.commands import vessel as vessels
from chemistry.commands.ledger import Book
from chemistry.commands.tray import Emptying, Filling, Poured
from chemistry.models import Line, LineStep, Origin, SessionTray, TraySession, Vessel
from chemistry.science.formula import Material
from darkroom_service.refusal import Clash, Malformed, NotAllowed
from waste.models import Container

Goal = Vessel | Container
STAFF = ["instructor", "technician"]


@command(Act.TRAY_SESSION_OPEN)
def open(work: Work, /, *, group: str, trays: Sequence[Filling], line: UUID | None = None) -> TraySession:
    """Open a session: every tray is filled from its source, diluted where that is said."""
    known = _vessels(work, trays)
    _judge_opener(work, [known[each.source] for each in trays])
    _judge_free(work, [known[each.tray] for each in trays])
    through = _line(work, line)
    book, pours = Book(work, work.occurred_at), []
    for index, told in enumerate(trays):
        with _pointing(index):
            pours.append(one_tray.fill(book, told, known[told.source], known[told.tray]))
            moving.bear_locked(book, known[told.source], known[told.tray])
    session = TraySession.objects.create(
        darkroom=work.darkroom, line=through, group=group, opened_by=work.whom, opened_at=work.occurred_at,
        entry_id=work.entry_id,
    )  # fmt: skip
    rows = [SessionTray(session=session, role=each.role, vessel=known[each.tray]) for each in trays]
    SessionTray.objects.bulk_create(rows)
    _finish(book, session, pours)
    return session


@command(Act.TRAY_SESSION_OPEN)
def close(work: Work, session: TraySession, *, trays: Sequence[Emptying] = ()) -> TraySession:
    """Close a session: every tray is poured back or away; what is missing of it goes to unaccounted."""
    row = reread(session)
    _judge_closer(work, row)
    _judge_end(work, row)
    mine = standing_trays(row)
    told = {each.role: (index, each) for index, each in enumerate(trays)}
    goals = _goals(work, row, mine, trays)
    book, pours = Book(work, work.occurred_at), []
    _judge_told(book, [each for each in mine if each.role not in told], goals)
    for each in mine:
        index, emptying = told.get(each.role, (0, Emptying(each.role)))
        with _pointing(index):
            pours.append(one_tray.empty(book, emptying, each.vessel, goals[each.role]))
    row.closed_at = work.occurred_at
    row.version += 1
    _finish(book, row, pours)
    return row


def reread(session: TraySession) -> TraySession:
    """Return a session as it is after the lock."""
    return TraySession.objects.select_related("line").get(pk=session.pk)


def standing_trays(session: TraySession) -> list[SessionTray]:
    """Return the trays of a session, in order, with all that the rules need."""
    return list(session.trays.select_related("vessel__batch__formula_version__formula", "vessel__owner").order_by("id"))


def of_person(work: Work) -> list[str]:
    """Return what stood against the person at the time."""
    return ["person.not_inducted"] if missing_topics(work.whom, (run.INDUCTION,), work.occurred_at) else []


def tell(work: Work, session: TraySession, flags: Sequence[str]) -> None:
    """Tell the technicians which rules were broken: of each rule once a day and session, however many sheets follow."""
    path = f"tray-sessions/{session.public_id}"
    for code in dict.fromkeys(flags):
        subject = f"tray-session:{session.public_id}:{code}"
        alert.flagged_locked(work, [code], subject=subject, path=path, what=f"Tray session {session.group}")


def _finish(book: Book, session: TraySession, pours: Sequence[Poured]) -> None:
    """Write all rows and flags, stop what was spoilt, settle the cost of what is used up, and tell."""
    work = book.work
    book.close()
    new = [*of_person(work), *(code for pour in pours for code in pour.codes), *book.flags]
    session.flags = list(dict.fromkeys([*session.flags, *new]))
    session.save(update_fields=["flags", "closed_at", "version"])
    for pour in pours:
        if pour.target:
            joining.spoil_locked(work, pour.source, pour.target, pour.verdicts)
    for batch in {each.pk: each for pour in pours for each in pour.ended}.values():
        cost.settle_locked(work, batch)
    tell(work, session, new)


@contextmanager
def _pointing(index: int) -> Iterator[None]:
    """Let what is wrong with one tray's shape point at that tray in the body."""
    try:
        yield
    except Malformed as fault:
        if fault.pointer != "/occurred_at":
            fault.pointer = f"/trays/{index}{fault.pointer}"
        raise


def _judge_opener(work: Work, sources: Sequence[Vessel]) -> None:
    """Refuse who may not draw on the room's liquids by themselves: pupils, and members before their induction."""
    if vessels.was_staff(work):
        return
    if work.whom.is_minor(work.occurred_at):
        drawn = any(each.batch and each.batch.origin == Origin.OPENED for each in sources)
        code = "minor.concentrate" if drawn else "minor.tray_session"
        words = "An adult fills the trays, and dilutes what goes into them. Ask a technician or the instructor."
        raise NotAllowed(code, words, roles=STAFF)
    if of_person(work):
        words = "Room induction comes first: ask the instructor for it, or a technician to fill the trays."
        raise NotAllowed("person.not_inducted", words, missing=[run.INDUCTION])


def _judge_closer(work: Work, session: TraySession) -> None:
    if session.opened_by_id not in {work.by.pk, work.whom.pk} and not vessels.was_staff(work):
        words = "Who opened a session closes it, or a technician or an instructor. Ask one of them."
        raise NotAllowed("tray-session.not_yours", words, roles=STAFF)


def _judge_told(book: Book, untold: Sequence[SessionTray], goals: Mapping[str, Goal | None]) -> None:
    """Refuse to guess where a tray went that neither the body nor the line speaks of."""
    for each in untold:
        if goals[each.role] is None and each.vessel.contents and not book.anchored(each.vessel):
            words = (
                f"Nobody said where the {each.role} tray went: name it with the vessel or the container it was poured"
                " into, or alone if nobody knows."
            )
            raise Malformed("tray-session.goal_missing", words, pointer="/trays", role=each.role)


def _vessels(work: Work, trays: Sequence[Filling]) -> dict[UUID, Vessel]:
    """Return all vessels that the trays name, each once, in one query."""
    _judge_once(trays, "role")
    _judge_once(trays, "tray")
    wanted = {vessel for each in trays for vessel in (each.tray, each.source)}
    here = Vessel.objects.with_contents().filter(darkroom=work.darkroom, public_id__in=wanted)
    known = {vessel.public_id: vessel for vessel in here}
    for index, each in enumerate(trays):
        for part in ("tray", "source"):
            if getattr(each, part) not in known:
                raise scope.unknown("vessel", f"/trays/{index}/{part}")
        if each.source in {other.tray for other in trays}:
            words = "A tray is filled from a vessel that is no tray of the session. Name the bottle it came from."
            raise Malformed("tray-session.source_is_tray", words, pointer=f"/trays/{index}/source")
    return known


def _judge_once(trays: Sequence[Filling] | Sequence[Emptying], part: str) -> None:
    seen = set()
    for index, each in enumerate(trays):
        if (value := getattr(each, part)) in seen:
            words = f"Each {part} stands in a session once. Leave this tray out, or name another {part}."
            raise Malformed(f"tray-session.{part}_repeated", words, pointer=f"/trays/{index}/{part}")
        seen.add(value)


def _judge_free(work: Work, trays: Sequence[Vessel]) -> None:
    """Refuse a tray that stands in another open session; a session told late is no clash with one begun since."""
    taken = SessionTray.objects.filter(
        vessel__in=trays, session__closed_at=None, session__opened_at__lte=work.occurred_at
    )
    if other := taken.select_related("session", "vessel").first():
        words = (
            f"{other.vessel.name} stands in the session {other.session.group}, which is still open."
            " Close that one first, or use another tray."
        )
        raise Clash("tray-session.tray_taken", words, session=str(other.session.public_id))


def _line(work: Work, line: UUID | None) -> Line | None:
    if line is None:
        return None
    found = scope.named(Line.objects.filter(darkroom=work.darkroom), line, pointer="/line", noun="line")
    if found.film_or_paper != Material.PAPER:
        words = f"{found.name} is a line for film. Name a line for paper, or leave it out."
        raise Malformed("line.other_material", words, pointer="/line")
    return found


def _judge_end(work: Work, session: TraySession) -> None:
    """Refuse an end that comes twice, or at a time when the trays were not filled yet or still in use."""
    if session.closed_at:
        words = "This session is closed already. What was poured since is a transfer: write it down as one."
        raise Clash("tray-session.closed", words, closed_at=session.closed_at.isoformat())
    last = session.tallies.filter(entry__reversal=None).order_by("-occurred_at").first()
    earliest = max(session.opened_at, last.occurred_at) if last else session.opened_at
    if work.occurred_at < earliest:
        words = f"The trays were in use at {earliest:%Y-%m-%d %H:%M} UTC. Give the time they were emptied."
        raise Malformed("time.before_use", words, pointer="/occurred_at", earliest=earliest.isoformat())


def _goals(
    work: Work, session: TraySession, mine: Sequence[SessionTray], told: Sequence[Emptying]
) -> dict[str, Goal | None]:
    """Return where each tray goes: as told, or to the container of its step in the line, or nobody knows where."""
    _judge_once(told, "role")
    steps = LineStep.objects.filter(line=session.line_id).select_related("container__stream")
    usual = {step.role: step.container for step in steps} if session.line_id else {}
    goals: dict[str, Goal | None] = {each.role: usual.get(each.role) for each in mine}
    others = Vessel.objects.with_contents().exclude(pk__in=[each.vessel_id for each in mine])
    known = {
        "vessel": _named(others.filter(darkroom=work.darkroom), [each.vessel for each in told]),
        "container": _named(Container.objects.of(work.darkroom), [each.container for each in told]),
    }
    for index, each in enumerate(told):
        if each.role not in goals:
            words = f"This session has no {each.role} tray. Leave it out."
            raise Malformed("tray-session.role_unknown", words, pointer=f"/trays/{index}/role")
        for part, rows in known.items():
            if wanted := getattr(each, part):
                if wanted not in rows:
                    raise scope.unknown(part, f"/trays/{index}/to/{part}")
                goals[each.role] = rows[wanted]
    return goals


def _named(rows: Any, wanted: Iterable[UUID | None]) -> dict[UUID, Goal]:
    return {row.public_id: row for row in rows.filter(public_id__in=[each for each in wanted if each])}
