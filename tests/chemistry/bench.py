"""The bench for tests: a full line of film vessels with containers, and bodies of requests to plan and to check in."""

from decimal import Decimal
from typing import Any

from accounts.acts import Role
from accounts.models import Darkroom, Membership
from chemistry.commands import formula, starter
from chemistry.commands import line as lines
from chemistry.models import CheckIn, Line, Vessel
from darkroom_service.quantity import tenths
from tests.chemistry import brew
from tests.waste import pail

STREAMS = {"developer": "bw-developer", "stop": "stop-bath", "fixer_1": "fixer", "washing_aid": "rinse"}


def ml(text: str) -> int:
    """Return millilitres as a count of 0.1 mL."""
    return tenths(Decimal(text))


def quantity(text: str, unit: str = "mL") -> dict[str, str]:
    """Return an amount as a body says it."""
    return {"value": text, "unit": unit}


def developer(room: Darkroom, amount: str = "1000", **more: Any) -> Vessel:
    """Return a vessel of released MQ-borax stock."""
    return brew.filled(room, "mq-borax", amount, **more)


def second_bath(room: Darkroom, amount: str = "1000") -> Vessel:
    """Return a vessel of a bath that follows another and is never poured back into it: a formula of this room."""
    rules = starter.starters()["mq-borax"].rules | {"never_poured_back": True}
    teacher = brew.staff(room, Role.INSTRUCTOR)
    drafted = brew.do(formula.draft, brew.staff(room), code="two-bath-b", name="Second bath", rules=rules, sources={})
    brew.do(formula.publish, teacher, drafted)
    return brew.filled(room, "two-bath-b", amount)


def line(room: Darkroom, bath: Vessel, *, full: bool = False, cans: bool = False, **more: Any) -> Line:
    """Return a film line: the developer alone, or with stop, fixer and washing aid; with waste containers if asked."""
    vessels = {"developer": bath}
    if full:
        vessels["stop"] = brew.working(room, "stop-acetic", "1+20", "1000")
        vessels["fixer_1"] = brew.working(room, "rapid-fixer", "1+4", "1000")
        vessels["washing_aid"] = brew.filled(room, "washing-aid", "1000")
    technician = brew.staff(room)
    steps = [
        {
            "role": role,
            "vessel": vessel.public_id,
            "container": pail.can(technician, STREAMS[role], rated="20000").public_id if cans else None,
        }
        for role, vessel in vessels.items()
    ]
    given = {"name": f"line {next(brew._numbers)}", "process": "bw", "film_or_paper": "film", **more}
    return brew.do(lines.create, technician, steps=steps, **given)


def tank(
    at: Line, *, rolls: int = 1, size: str = "500", use: str = "one_shot", dilution: str = "1+1", **more: Any
) -> dict[str, Any]:
    """Return the body of a plan or a check-in: so many rolls of 135-36 in one tank."""
    films = [{"format": "135-36", "count": rolls}]
    return {
        "line": str(at.public_id), "films": films, "tank": quantity(size), "use": use, "dilution": dilution, **more,
    }  # fmt: skip


def own(at: Line) -> dict[str, str]:
    """Return the part of a body that names the line's own developer, so that the service picks no other."""
    return {"vessel": str(at.steps.get(role="developer").vessel.public_id)}


def reuse(at: Line, *, rolls: int = 1, size: str = "500", **more: Any) -> dict[str, Any]:
    """Return the body of a tank of stock that is poured back."""
    return tank(at, rolls=rolls, size=size, use="reuse", dilution="stock", **more)


def fresh(vessel: Vessel) -> Vessel:
    """Return a vessel as it is now."""
    return Vessel.objects.with_contents().get(pk=vessel.pk)


def row(answer: Any) -> CheckIn:
    """Return the check-in an answer is about."""
    assert answer.status_code == 201, answer.json()
    return CheckIn.objects.get(public_id=answer.json()["id"])


def codes(answer: Any) -> list[str]:
    """Return the codes of an answer's flags."""
    assert answer.status_code == 201, answer.json()
    return [flag["code"] for flag in answer.json()["flags"]]


def inducted(room: Darkroom, *people: Membership) -> None:
    """See to it that people have room induction."""
    for person in people:
        brew.signed(room, person, "room-induction")
