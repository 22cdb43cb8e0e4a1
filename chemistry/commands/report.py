"""What somebody says they did with a tank, and what it names looked up: nothing here judges chemistry."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from uuid import UUID

from accounts.commands import scope
from accounts.commands.entry import Work
from chemistry.commands import run
from chemistry.models import LineStep, TankPlan, Vessel
from chemistry.science.tank import Conditions
from darkroom_service.refusal import Malformed
from waste.models import Container


@dataclass(frozen=True)
class Report:
    """A tank as told. With a plan, what is left out is as it was planned; volumes in 0.1 mL.

    ``containers`` names another container for a step's spent liquid, or none; ``poured_back_into`` a vessel other than
    the one the developer was drawn from.
    """

    plan: UUID | None = None
    line: UUID | None = None
    vessel: UUID | None = None
    films: tuple[run.Film, ...] = ()
    tank: int | None = None
    use: str = ""
    dilution: str = ""
    compensate: bool | None = None
    conditions: Conditions = field(default_factory=Conditions)
    poured_back: int | None = None
    poured_back_into: UUID | None = None
    containers: Mapping[str, UUID | None] = field(default_factory=dict)


@dataclass(frozen=True)
class Told:
    """The same with rows for ids: the vessel of each step, where its spent liquid went, and what the tank held."""

    report: Report
    plan: TankPlan | None
    steps: list[LineStep]
    vessels: list[Vessel]
    containers: list[Container | None]
    into: Vessel | None
    loading: run.Loading
    filled: run.Filled


def read(work: Work, report: Report) -> Told:
    """Look up what a report names and fill in from its plan what it leaves out."""
    plan = _plan(work, report.plan)
    line = report.line or (plan.line.public_id if plan else None)
    if line is None:
        raise _missing("line")
    steps = run.steps(work, line)
    loading = _loading(report, plan)
    vessels, into = _vessels(work, report, plan, steps)
    filled = run.fill(work, steps[0].line, loading)
    return Told(report, plan, steps, vessels, _containers(work, report, steps), into, loading, filled)


def _plan(work: Work, plan: UUID | None) -> TankPlan | None:
    if plan is None:
        return None
    rows = TankPlan.objects.visible_to(work.by) | TankPlan.objects.filter(by=work.whom)
    known = rows.select_related("line", "vessel__batch__formula_version__formula", "vessel__owner")
    return scope.named(known, plan, pointer="/plan", noun="plan")


def _missing(name: str) -> Malformed:
    words = f"Say {name}, or name the plan it is in."
    return Malformed("field.required", words, pointer=f"/{name}")


def _loading(report: Report, plan: TankPlan | None) -> run.Loading:
    """Return the tank as told, and where nothing is told as planned."""
    films = report.films
    compensate = report.compensate
    if plan is not None:
        films = films or tuple(run.Film(**each) for each in plan.films)
        compensate = plan.advice["compensate"] if compensate is None else compensate
    given = {
        "films": films,
        "tank": report.tank or (plan.tank if plan else None),
        "use": report.use or (plan.use if plan else ""),
        "dilution": report.dilution or (plan.dilution if plan else ""),
    }
    for name, value in given.items():
        if not value:
            raise _missing(name)
    return run.Loading(**given, compensate=bool(compensate))  # type: ignore[arg-type]


def _vessels(
    work: Work, report: Report, plan: TankPlan | None, steps: list[LineStep]
) -> tuple[list[Vessel], Vessel | None]:
    """Return the vessel of each step, the developer's as told, and where it was poured back if elsewhere."""
    known = {step.vessel.public_id: step.vessel for step in steps}
    if plan is not None:
        known.setdefault(plan.vessel.public_id, plan.vessel)
    wanted = report.vessel or (plan.vessel.public_id if plan else steps[0].vessel.public_id)
    asked = [each for each in (wanted, report.poured_back_into) if each is not None and each not in known]
    if asked:
        here = Vessel.objects.with_contents().filter(darkroom=work.darkroom, public_id__in=asked)
        known |= {vessel.public_id: vessel for vessel in here}
    for pointer, each in (("/vessel", wanted), ("/poured_back_into", report.poured_back_into)):
        if each is not None and each not in known:
            raise scope.unknown("vessel", pointer)
    into = known[report.poured_back_into] if report.poured_back_into else None
    return [known[wanted], *(step.vessel for step in steps[1:])], into


def _containers(work: Work, report: Report, steps: list[LineStep]) -> list[Container | None]:
    """Return where each step's spent liquid went: as told, or as the line has it."""
    wanted = {role: each for role, each in report.containers.items() if each is not None}
    known = {}
    if wanted:
        rows = Container.objects.of(work.darkroom).filter(public_id__in=wanted.values())
        known = {row.public_id: row for row in rows}
    for role, each in wanted.items():
        if each not in known:
            raise scope.unknown("container", f"/containers/{role}")
    named = {role: known[each] if each else None for role, each in report.containers.items()}
    return [named.get(step.role, step.container) for step in steps]
