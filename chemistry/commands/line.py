"""The vessels a process uses now: set up once by the technician, one vessel to a step."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any
from uuid import UUID

from accounts.acts import Act
from accounts.commands import scope
from accounts.commands.entry import Work, command
from chemistry.commands.judgement import insist
from chemistry.commands.origin import sort_of_rules
from chemistry.models import Line, LineStep, StepRole, Vessel
from chemistry.science import way
from chemistry.science.formula import Material, Process, Rules
from chemistry.science.plan import judge_role
from chemistry.science.verdict import refused
from darkroom_service.refusal import Clash, Malformed, Unworkable
from waste.models import Container
from waste.science.stream import belongs

ORDER = list(StepRole)


@command(Act.LINE_EDIT)
def create(work: Work, *, name: str, process: str, film_or_paper: str, steps: Sequence[Mapping[str, Any]]) -> Line:
    """Set up a line; each step is ``{"role", "vessel": UUID, "container": UUID | None}``."""
    line = Line(darkroom=work.darkroom, name=name, process=Process(process), film_or_paper=Material(film_or_paper))
    _unused_name(line)
    found = _steps(line, steps)
    line.save()
    _write(line, found)
    return line


@command(Act.LINE_EDIT)
def edit(
    work: Work,
    line: Line,
    *,
    unchanged: Callable[[int], None],
    name: str | None = None,
    steps: Sequence[Mapping[str, Any]] | None = None,
) -> Line:
    """Rename a line or give it other vessels. ``unchanged`` is given the version found and refuses an old one."""
    line = _found(line)
    unchanged(line.version)
    if name is not None:
        line.name = name
        _unused_name(line)
    if steps is not None:
        found = _steps(line, steps)
        LineStep.objects.filter(line=line).delete()
        _write(line, found)
    line.version += 1
    line.save(update_fields=["name", "version"])
    return line


@command(Act.LINE_EDIT)
def retire(work: Work, line: Line) -> Line:
    """Take a line out of use; what went through it stays on record, and a late report may still name it."""
    line = _found(line)
    line.retired_at = work.recorded_at
    line.version += 1
    line.save(update_fields=["retired_at", "version"])
    return line


def _found(line: Line) -> Line:
    """Read the line again under the lock and refuse a retired one."""
    line = Line.objects.get(pk=line.pk)
    if line.retired_at:
        raise Clash("line.retired", "This line is retired and stays as it is. Set up a new line under another name.")
    return line


def _unused_name(line: Line) -> None:
    others = Line.objects.filter(darkroom=line.darkroom_id, name=line.name).exclude(pk=line.pk)
    if others.exists():
        words = "Another line here has or had that name. Choose one that says what is different, such as the season."
        raise Clash("line.name_taken", words)


def _write(line: Line, steps: Sequence[LineStep]) -> None:
    LineStep.objects.bulk_create(steps)


def _steps(line: Line, steps: Sequence[Mapping[str, Any]]) -> list[LineStep]:
    """Look up what the steps name, in two queries, and judge each."""
    _judge_shape(steps)
    vessels = _named(
        Vessel.objects.with_contents().filter(darkroom=line.darkroom_id),
        [step["vessel"] for step in steps],
    )
    wanted = [step["container"] for step in steps if step.get("container")]
    containers = _named(Container.objects.of(line.darkroom), wanted)
    found = []
    for index, step in enumerate(steps):
        vessel = vessels.get(step["vessel"])
        if vessel is None:
            raise scope.unknown("vessel", f"/steps/{index}/vessel")
        container = containers.get(step["container"]) if step.get("container") else None
        if step.get("container") and container is None:
            raise scope.unknown("container", f"/steps/{index}/container")
        judge_step(line, step["role"], vessel, container)
        position = ORDER.index(StepRole(step["role"]))
        found.append(LineStep(line=line, role=step["role"], vessel=vessel, container=container, position=position))
    return found


def _named(rows: Any, ids: Sequence[UUID]) -> dict[UUID, Any]:
    return {row.public_id: row for row in rows.filter(public_id__in=ids)}


def _judge_shape(steps: Sequence[Mapping[str, Any]]) -> None:
    """Refuse a line without a developer, and a role or a vessel named twice."""
    seen: set[Any] = set()
    for index, step in enumerate(steps):
        for part in ("role", "vessel"):
            if step[part] in seen:
                words = f"Each {part} stands in a line once. Leave this step out or name another {part}."
                raise Malformed(f"line.{part}_repeated", words, pointer=f"/steps/{index}/{part}")
            seen.add(step[part])
    if StepRole.DEVELOPER not in seen:
        words = "A line starts with its developer. Add a step with the role developer."
        raise Malformed("line.without_developer", words, pointer="/steps")


def judge_step(line: Line, role: str, vessel: Vessel, container: Container | None) -> None:
    """Refuse what could never work: a private bottle, the wrong kind of bath, or waste that may not meet."""
    if vessel.owner_id is not None:
        words = f"{vessel.name} is a member's own bottle, outside the shared lines. Name a shared vessel."
        raise Unworkable("vessel.private", words, vessel=str(vessel.public_id), role=role)
    if vessel.film_or_paper:
        insist(way.judge_material(Material(vessel.film_or_paper), Material(line.film_or_paper)), role=role)
    if vessel.batch is None:
        return
    rules = vessel.batch.formula_version.rules
    insist(judge_role(role, rules.kind), role=role, vessel=str(vessel.public_id))
    if rules.process != line.process:
        words = f"{vessel.name} holds liquid for {rules.process} and this line is for {line.process}."
        insist(refused("line.other_process", words, "a vessel for this process", "a line of its own"), role=role)
    _judge_container(role, rules, container)


def _judge_container(role: str, rules: Rules, container: Container | None) -> None:
    if container is None:
        return
    liquid = sort_of_rules(rules)
    if not belongs(liquid, container.stream.sort, container.contents):
        words = (
            f"{container.name} takes {container.stream.name}, and this step's liquid is {liquid}."
            f" Name a container for {liquid}, or leave it out."
        )
        raise Unworkable("container.wrong_stream", words, role=role, container=str(container.public_id), wants=liquid)
