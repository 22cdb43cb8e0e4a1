"""A spent first fixer gives way to the second, which keeps its own load and date."""

from dataclasses import dataclass
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import notice, scope
from accounts.commands.entry import Work, command
from chemistry.commands import line as lines
from chemistry.commands import vessel as vessels
from chemistry.models import Line, LineStep, StepRole, Vessel
from darkroom_service.refusal import Clash, Malformed


@dataclass(frozen=True)
class Promoted:
    """The line as it is now, and the first fixer that left it to be emptied."""

    line: Line
    first: Vessel
    second: Vessel | None
    leaves: Vessel


@command(Act.LINE_EDIT)
def promote(work: Work, vessel: Vessel, *, line: UUID, second: UUID | None = None) -> Promoted:
    """Make the second fixer of a line its first, in one act; a new second fixer may be named."""
    here = Line.objects.filter(darkroom=work.darkroom, retired_at=None)
    row = scope.named(here, line, pointer="/line", noun="line")
    steps = {
        step.role: step for step in LineStep.objects.filter(line=row).select_related("vessel", "container__stream")
    }
    was_first, was_second = steps.get(StepRole.FIXER_1), steps.get(StepRole.FIXER_2)
    if was_first is None or was_second is None or was_second.vessel_id != vessel.pk:
        words = f"{vessel.name} is not the second fixer of {row.name}. Name the line it is in, or edit its steps."
        raise Clash("line.not_second_fixer", words, line=str(row.public_id))
    leaves = was_first.vessel
    follows = _second(work, row, was_second, steps, second) if second else None
    was_first.vessel = was_second.vessel
    was_first.save(update_fields=["vessel"])
    if follows:
        was_second.vessel = follows
        was_second.save(update_fields=["vessel"])
    else:
        was_second.delete()
    row.version += 1
    row.save(update_fields=["version"])
    _tell(work, row, leaves)
    return Promoted(row, was_first.vessel, follows, leaves)


def _second(work: Work, line: Line, step: LineStep, steps: dict[str, LineStep], second: UUID) -> Vessel:
    found = vessels.named(work, second, pointer="/second")
    if found.pk in {each.vessel_id for each in steps.values()}:
        words = f"{found.name} is in this line already. Name another vessel, or leave it out."
        raise Malformed("line.vessel_repeated", words, pointer="/second")
    lines.judge_step(line, StepRole.FIXER_2, found, step.container)
    return found


def _tell(work: Work, line: Line, leaves: Vessel) -> None:
    text = f"{leaves.name} ({leaves.code}) is no longer the first fixer of {line.name}: empty it to waste."
    notice.post_locked(
        work, kind="fixer-to-empty", subject=f"vessel:{leaves.public_id}", text=text,
        path=f"vessels/{leaves.public_id}", to_roles=(Role.TECHNICIAN,),
    )  # fmt: skip
