"""Before pouring: what a tank needs. A plan may be refused, and then says what would do; it may keep what it needs."""

from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import scope
from accounts.commands.entry import Work, command
from accounts.models.signoff import missing_topics
from chemistry.commands import advice, destination, pouring, run
from chemistry.commands.shelf import Problem, Shelf, refuse
from chemistry.models import Hold, LineStep, TankPlan, Vessel
from chemistry.science.development import Time
from chemistry.science.plan import advise
from chemistry.science.tank import DEVELOPER, Conditions
from chemistry.science.verdict import Verdict
from darkroom_service.quantity import load_units, tenths
from darkroom_service.refusal import Clash, NotAllowed


@dataclass(frozen=True)
class Wanted:
    """What somebody wants to do; no vessel lets the service pick one."""

    line: UUID
    loading: run.Loading
    vessel: UUID | None = None
    conditions: Conditions = field(default_factory=Conditions)
    hold: bool = False


@dataclass(frozen=True)
class Draft:
    """A plan that no rule stands against: the developer's stage first."""

    work: Work
    wanted: Wanted
    steps: list[LineStep]
    filled: run.Filled
    shelf: Shelf
    stages: list[run.Stage]
    time: Time


@command(Act.PLAN_CREATE)
def create(work: Work, *, wanted: Wanted) -> TankPlan:
    """Plan a tank through a line: judge every rule, advise, and keep load and volume for a while if asked to."""
    steps = run.steps(work, wanted.line)
    line = steps[0].line
    if line.retired_at:
        raise Clash("line.retired", f"{line.name} is out of use. Choose another line, or ask the technician for one.")
    _judge_induction(work)
    filled = run.fill(work, line, wanted.loading)
    shelf = Shelf(work, steps, filled.tank, wanted.conditions)
    stages = _stages(work, steps, wanted, shelf)
    time = advise(filled.tank, stages[0].bath, wanted.conditions)
    if isinstance(time, Verdict):
        raise refuse([Problem(DEVELOPER, stages[0].vessel, time)], shelf, stages[0].vessel)
    return _write(Draft(work, wanted, steps, filled, shelf, stages, time))


@command(Act.PLAN_CREATE)
def cancel(work: Work, plan: TankPlan) -> TankPlan:
    """Give a plan up and free what it kept."""
    plan = TankPlan.objects.get(pk=plan.pk)
    if plan.by_id != work.by.pk and not work.by.holds(Role.TECHNICIAN, Role.INSTRUCTOR):
        words = "Only who made a plan gives it up, or a technician or an instructor. Ask one of them."
        raise NotAllowed("plan.not_own", words, roles=[Role.INSTRUCTOR.value, Role.TECHNICIAN.value])
    if plan.used_at or plan.cancelled_at:
        words = "This plan was used or given up before; it keeps nothing any more. Make a new plan if you need one."
        raise Clash("plan.over", words)
    plan.cancelled_at = work.recorded_at
    plan.save(update_fields=["cancelled_at"])
    Hold.objects.standing(work.recorded_at).filter(plan=plan).update(released_at=work.recorded_at)
    return plan


def _judge_induction(work: Work) -> None:
    if missing := missing_topics(work.whom, (run.INDUCTION,), work.recorded_at):
        words = "Room induction comes first: ask the instructor for it and for the sign-off, then plan again."
        raise NotAllowed("person.not_inducted", words, missing=missing)


def _stages(work: Work, steps: list[LineStep], wanted: Wanted, shelf: Shelf) -> list[run.Stage]:
    """Choose the developer's vessel, judge every step, and return what each is asked for."""
    chosen, problems = _developer(work, steps[0], wanted.vessel, shelf)
    vessels = [chosen, *(step.vessel for step in steps[1:])]
    for step in steps[1:]:
        problems += shelf.problems(step.role, step.vessel)
    if problems:
        raise refuse(problems, shelf, chosen)
    stages = [shelf.stage(step, vessel) for step, vessel in zip(steps, vessels, strict=True)]
    for stage in stages:
        _destine(work, stage)
    return stages


def _destine(work: Work, stage: run.Stage) -> None:
    """Name the container that a check-in would pour into as things stand: the next one where the line's is full."""
    pour = pouring.read(stage, None, None, told_away=False)
    if pour.told_away and pour.away:
        strength = str(stage.need.dilution)
        stage.container = destination.found_locked(
            work, stage.container, batch=stage.batch, dilution=strength, volume=pour.away
        )


def _developer(work: Work, step: LineStep, wanted: UUID | None, shelf: Shelf) -> tuple[Vessel, list[Problem]]:
    """Return the vessel asked for, or the line's own, or else another of the same liquid that would do."""
    vessel = step.vessel
    if wanted is not None and wanted != vessel.public_id:
        here = Vessel.objects.with_contents().filter(darkroom=work.darkroom)
        vessel = scope.named(here, wanted, pointer="/vessel", noun="vessel")
    problems = shelf.problems(DEVELOPER, vessel)
    if problems and wanted is None and (others := shelf.others(DEVELOPER, vessel)):
        return others[0], []
    return vessel, problems


def _advice(draft: Draft) -> dict[str, Any]:
    developer, wanted, shelf = draft.stages[0], draft.wanted, draft.shelf
    usual = draft.steps[0].vessel
    warned = advice.warnings(draft.stages, draft.time, wanted.conditions)
    if developer.vessel.pk != usual.pk and wanted.vessel is None:
        reasons = " ".join(each.verdict.reason for each in shelf.problems(DEVELOPER, usual))
        warned.insert(0, f"Take {developer.vessel.code}, not {usual.code}. {reasons}")
    return {
        "vessel": advice.named(developer.vessel),
        **advice.pour(developer.need),
        "time": advice.time_given(draft.time, wanted.conditions),
        "warnings": warned,
        "cautions": advice.cautions(draft.stages),
        "hazards": advice.hazards(draft.work, draft.stages),
        "others": [advice.named(each) for each in shelf.others(DEVELOPER, developer.vessel)],
        "charges": [advice.charge(stage) for stage in draft.stages],
        "cost": advice.cost_estimate(draft.work, draft.stages, compensate=wanted.loading.compensate),
        "compensate": wanted.loading.compensate,
    }


def _write(draft: Draft) -> TankPlan:
    work, loading, filled = draft.work, draft.wanted.loading, draft.filled
    until = work.recorded_at + timedelta(minutes=work.darkroom.hold_minutes) if draft.wanted.hold else None
    plan = TankPlan.objects.create(
        darkroom=work.darkroom, by=work.whom, line=draft.steps[0].line, vessel=draft.stages[0].vessel, use=loading.use,
        dilution=str(filled.tank.dilution), tank=loading.tank, films=filled.films, load=filled.load,
        advice=_advice(draft), held_until=until, entry_id=work.entry_id, occurred_at=work.occurred_at,
    )  # fmt: skip
    if until:
        Hold.objects.bulk_create(
            Hold(
                plan=plan, vessel=stage.vessel, volume=tenths(stage.need.leaves_ml), load=load_units(stage.need.load),
                until=until,
            )
            for stage in draft.stages
        )  # fmt: skip
    return plan
