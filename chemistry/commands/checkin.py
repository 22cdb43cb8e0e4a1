"""After pouring: a report of film processed. It charges every vessel of its line and is never refused for chemistry."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from accounts.acts import Act
from accounts.commands.entry import Work, command
from accounts.models.signoff import missing_topics
from chemistry.commands import advice, aftermath, cost, pouring, reversal, ruling, run
from chemistry.commands import report as reports
from chemistry.commands.ledger import Book
from chemistry.commands.pouring import Pour
from chemistry.commands.report import Report, Told
from chemistry.commands.vessel import check_size
from chemistry.models import Batch, CheckIn, Reversal, Vessel
from chemistry.science.plan import advise
from chemistry.science.tank import DEVELOPER, Conditions, need
from chemistry.science.verdict import Verdict
from darkroom_service.refusal import Malformed


@dataclass(frozen=True)
class CheckedIn:
    """A check-in, and how the tank of each step was emptied."""

    check_in: CheckIn
    pours: list[Pour]


@command(Act.CHECK_IN_CREATE)
def create(work: Work, *, report: Report) -> CheckedIn:
    """Write down film that was processed: every vessel of the line is charged by its own rule, in one act."""
    told = reports.read(work, report)
    book = Book(work, work.occurred_at)
    flags = _of_person(work, told)
    pours = list(_pours(book, told, flags))
    minor = work.whom.is_minor(work.occurred_at)
    for pour in pours:
        pour.flags += ruling.of_stage(book, pour.stage, told.filled.tank, minor=minor)
        pour.flags += ruling.of_pour_back(book, pour)
    given = _advice(told, pours, flags)
    for pour in pours:
        pouring.write(book, pour, told.filled.load, told.filled.area)
    flags += ["vessel.overfull"] if any(pour.back and _overfull(pour.into) for pour in pours) else []
    book.close()
    flags += [*(code for pour in pours for code in pour.flags), *book.flags]
    check_in = _write(work, told, list(dict.fromkeys(flags)), given, _bear(work, told, pours))
    own = told.plan if told.plan and told.plan.by_id == work.whom.pk else None
    aftermath.follow_locked(book, check_in, pours, own)
    return CheckedIn(check_in, pours)


@command(Act.CHECK_IN_REVERSE)
def reverse(work: Work, check_in: CheckIn, *, reason: str) -> tuple[Reversal, list[str]]:
    """Take a check-in back: its author at any time, a technician or an instructor anybody's; returns the flags too."""
    row = CheckIn.objects.select_related("entry").get(pk=check_in.pk)
    before = aftermath.states_of(row)
    made, flags = reversal.reverse_locked(work, row.entry, reason=reason)
    aftermath.undo_locked(work, row, before)
    return made, flags


def _overfull(vessel: Vessel) -> bool:
    return vessel.contents > vessel.nominal


def _of_person(work: Work, told: Told) -> list[str]:
    """Return what stood against the person and the plan, at the time."""
    flags = ["person.not_inducted"] if missing_topics(work.whom, (run.INDUCTION,), work.occurred_at) else []
    if told.plan and (told.plan.used_at or told.plan.cancelled_at):
        flags.append("plan.over")
    if told.plan and told.plan.by_id != work.whom.pk:
        flags.append("plan.not_own")
    return flags


def _pours(book: Book, told: Told, flags: list[str]) -> Iterator[Pour]:
    """Yield how each step's tank was emptied; a vessel that held nothing at that time is flagged and left alone."""
    tank, report = told.filled.tank, told.report
    for step, vessel, container in zip(told.steps, told.vessels, told.containers, strict=True):
        first = step.role == DEVELOPER
        batch = _batch_then(book, vessel, insist=first)
        if batch is None:
            flags.append("vessel.unfilled")
            continue
        bath = run.bath(vessel, batch, step.line)
        stage = run.Stage(step.role, vessel, batch, container, bath, need(step.role, tank, bath))
        back, into = (report.poured_back, told.into) if first else (None, None)
        told_away = report.containers.get(step.role) is not None
        if back is not None:
            check_size(into or vessel, back, pointer="/poured_back")
        yield pouring.read(stage, back, into, told_away=told_away)


def _batch_then(book: Book, vessel: Vessel, *, insist: bool) -> Batch | None:
    """Return what stood in a vessel at that time; for the developer, a time before there was any is impossible.

    So is a time before its batch was mixed: no vessel holds it earlier.
    """
    batch = book.batch_of(vessel)
    if batch is None and vessel.batch is not None and insist:
        words = f"{vessel.code} had not been filled yet at that time. Give the time it happened."
        raise Malformed("time.before_filling", words, pointer="/occurred_at")
    return batch


def _advice(told: Told, pours: Sequence[Pour], flags: list[str]) -> dict[str, Any]:
    """Return the time given: what the told conditions come to, or where none are told the plan's own."""
    given: dict[str, Any] = {"compensate": told.loading.compensate}
    conditions = told.report.conditions
    if told.plan:
        given, planned = {**given, "plan": str(told.plan.public_id)}, told.plan.advice["time"]
        if conditions == Conditions():
            return {**given, "time": planned}
        if conditions.base_min is None and planned["base_min"]:
            conditions = replace(conditions, base_min=Decimal(planned["base_min"]))
    developer = next((pour.stage for pour in pours if pour.stage.role == DEVELOPER), None)
    if developer is None or conditions == Conditions():
        return given
    found = advise(told.filled.tank, developer.bath, conditions)
    if isinstance(found, Verdict):
        flags += [found.code] if found.code == "temperature.outside" else []
        return {**given, "not_advised": found.reason}
    return {**given, "time": advice.time_given(found, conditions)}


def _bear(work: Work, told: Told, pours: Sequence[Pour]) -> int:
    """Charge the person what the tank cost, at the rate of this moment."""
    stages = run.shared([pour.stage for pour in pours])
    dues = advice.dues(stages, compensate=told.loading.compensate)
    return cost.charge_locked(work, work.whom, [(stage.batch, each) for stage, each in zip(stages, dues, strict=True)])


def _write(work: Work, told: Told, flags: list[str], given: dict[str, Any], cost_minor: int) -> CheckIn:
    filled, loading = told.filled, told.loading
    return CheckIn.objects.create(
        darkroom=work.darkroom, member=work.whom, line=told.steps[0].line, plan=told.plan, vessel=told.vessels[0],
        use=loading.use, dilution=str(filled.tank.dilution), tank=loading.tank, films=filled.films, load=filled.load,
        area=filled.area, cost_minor=cost_minor, flags=flags, advice=given, entry_id=work.entry_id,
        occurred_at=work.occurred_at, recorded_at=work.recorded_at,
    )  # fmt: skip
