"""Which vessel does for a tank: all of the room judged, with what plans keep of them; and a refusal that helps."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from django.db.models import Sum

from accounts.commands.entry import Work
from chemistry.commands import run, standing
from chemistry.models import Batch, Hold, LineStep, Vessel, VesselState
from chemistry.science import capacity
from chemistry.science import plan as rules
from chemistry.science.dilution import STOCK, parse
from chemistry.science.load import text as load_text
from chemistry.science.tank import DEVELOPER, Bath, Conditions, Tank, need
from chemistry.science.verdict import ALLOWED, Verdict, refused
from darkroom_service.quantity import load_units, millilitres
from darkroom_service.refusal import Unworkable

MOST_OFFERS = 6
TESTABLE = {
    VesselState.WAITING: ("wait until its batch is released", "another vessel"),
    VesselState.TEST_FIRST: ("ask the technician for a test; a passed one makes it ready", "another vessel"),
    VesselState.STOPPED: ("another vessel; ask the technician or the instructor to look at this one",),
    VesselState.SPENT: ("another vessel; this one is emptied to waste",),
    VesselState.EMPTIED: ("another vessel; ask the technician to fill this one",),
}


@dataclass(frozen=True)
class Problem:
    """One no, and the step and vessel it is about."""

    role: str
    vessel: Vessel
    verdict: Verdict


class Shelf:
    """What stands in the room and what is kept of it, read in two queries for one plan."""

    def __init__(self, work: Work, steps: Sequence[LineStep], tank: Tank, conditions: Conditions) -> None:
        self.work, self.line, self.tank, self.conditions = work, steps[0].line, tank, conditions
        self.followers = steps[1:]
        self.tanks = [millilitres(size) for size in work.darkroom.tank_sizes]
        self.minor = work.whom.is_minor(work.recorded_at)
        full = Vessel.objects.with_contents().filter(darkroom=work.darkroom, contents__gt=0)
        self.vessels: list[Vessel] = list(full.order_by("use_by", "code"))
        self.held = _held(work)

    def stage(self, step: LineStep, vessel: Vessel) -> run.Stage:
        """Return what the tank asks of a vessel that has been judged."""
        batch = filled_with(vessel)
        bath = self._bath(vessel, batch)
        return run.Stage(step.role, vessel, batch, step.container, bath, need(step.role, self.tank, bath))

    def problems(self, role: str, vessel: Vessel, tank: Tank | None = None) -> list[Problem]:
        """Judge a vessel for a step: what it holds, what it may still do, who pours, and how film is developed."""
        at, zone = self.work.recorded_at, self.work.darkroom.zone
        verdicts = [judge_standing(standing.assess(vessel, at, zone)), self._judge_owner(vessel)]
        if vessel.batch is not None and vessel.contents:
            bath = self._bath(vessel, vessel.batch)
            verdicts += rules.judge(role, tank or self.tank, bath, tanks=self.tanks)
            verdicts.append(rules.judge_handling(bath, minor=self.minor))
            if role == DEVELOPER and all(each.ok for each in verdicts):
                time = rules.advise(tank or self.tank, bath, self.conditions)
                verdicts += [time] if isinstance(time, Verdict) else []
        return [Problem(role, vessel, verdict) for verdict in verdicts if not verdict.ok]

    def others(self, role: str, vessel: Vessel, tank: Tank | None = None) -> list[Vessel]:
        """Return the other vessels of the same liquid that would do, those whose date is nearest first."""
        return [each for each in self._alike(role, vessel) if not self.problems(role, each, tank)]

    def would_do(self, vessel: Vessel) -> list[dict[str, Any]]:
        """Return what would do instead: first another vessel, then another tank or dilution that this room has.

        Only what the rest of the line takes as well: an offer that the fixer would refuse is no help.
        """
        found: list[dict[str, Any]] = []
        for tank in filter(self._followed, (self.tank, *self._alternatives(vessel))):
            mine = [] if tank is self.tank or self.problems(DEVELOPER, vessel, tank) else [vessel]
            found += [_offer(each, tank) for each in (mine or self.others(DEVELOPER, vessel, tank))[:2]]
            if len(found) >= MOST_OFFERS:
                break
        return found[:MOST_OFFERS]

    def remains(self, vessel: Vessel) -> dict[str, Any]:
        """Return what is left in a vessel, what plans keep of it, and the roll units left where they are counted."""
        volume, load = self.held.get(vessel.pk, (0, 0))
        found = {
            "vessel": str(vessel.public_id),
            "contents_ml": millilitres(vessel.contents),
            "held_ml": millilitres(volume),
            "load_held": load_text(load),
        }
        if vessel.batch is None:
            return found
        bath = self._bath(vessel, vessel.batch)
        figure = capacity.find(bath.rules, self.tank.material, self.tank.use, bath.dilution)
        if figure is not None and capacity.counted(self.tank.use):
            left = capacity.left(figure, bath.basis_ml, bath.load, bath.held_load, self.tank.compensate)
            found["load_left"] = load_text(load_units(left))
        return found

    def _followed(self, tank: Tank) -> bool:
        return not any(self.problems(step.role, step.vessel, tank) for step in self.followers)

    def _bath(self, vessel: Vessel, batch: Batch) -> Bath:
        return run.bath(vessel, batch, self.line, self.held.get(vessel.pk, (0, 0)))

    def _judge_owner(self, vessel: Vessel) -> Verdict:
        if vessel.owner_id in {None, self.work.whom.pk}:
            return ALLOWED
        return refused(
            "vessel.private", "This is somebody else's own bottle.", "a shared vessel", "a bottle of your own"
        )

    def _alike(self, role: str, vessel: Vessel) -> Iterator[Vessel]:
        """Yield shared vessels of the same formula, and for a bath after the developer of the same strength."""
        wanted = vessel.batch
        for each in self.vessels:
            if each.pk == vessel.pk or each.owner_id is not None or each.batch is None:
                continue
            if wanted is None or _alike(role, wanted, each.batch):
                yield each

    def _alternatives(self, vessel: Vessel) -> Iterator[Tank]:
        """Yield the other tanks and dilutions this room has, the smallest tank first."""
        dilutions = [self.tank.dilution]
        if vessel.batch is not None and vessel.batch.dilution == STOCK and self.tank.use is run.USES[run.ONE_SHOT]:
            dilutions += [parse(each) for each in vessel.batch.formula_version.rules.dilutions]
        sizes = sorted({*self.tanks, self.tank.volume_ml})
        for size, dilution in product(sizes, dict.fromkeys(dilutions)):
            if (size, dilution) != (self.tank.volume_ml, self.tank.dilution):
                carry = min(self.tank.carry_ml, size)
                yield replace(self.tank, volume_ml=size, dilution=dilution, carry_ml=carry)


def judge_standing(found: standing.Standing) -> Verdict:
    """Judge a vessel's state: only a ready one is planned with; the answer says what makes it ready."""
    if found.state == VesselState.READY:
        return ALLOWED
    return refused(f"vessel.{found.state}", " ".join(found.reasons), *TESTABLE[found.state])


def refuse(problems: Sequence[Problem], shelf: Shelf, developer: Vessel) -> Unworkable:
    """Word a refused plan: every reason, what remains in the developer's vessel, and what would do instead."""
    would_do = shelf.would_do(developer) if any(each.role == DEVELOPER for each in problems) else []
    reasons = " ".join(f"{_named(each)}: {each.verdict.reason}" for each in problems)
    offers = list(dict.fromkeys([_in_words(each) for each in would_do] + _own_offers(problems)))
    allowed = f" What would do: {'; '.join(offers)}." if offers else ""
    return Unworkable(
        problems[0].verdict.code,
        f"{reasons}{allowed}",
        offers=offers,
        reasons=[_reason(each, shelf) for each in problems],
        remains=shelf.remains(developer),
        would_do=would_do,
    )


def filled_with(vessel: Vessel) -> Batch:
    """Return what a vessel holds; one that passed its judgement holds something."""
    if vessel.batch is None:
        raise ValueError("an unfilled vessel passes no judgement")
    return vessel.batch


def _held(work: Work) -> dict[int, tuple[int, int]]:
    standing_now = Hold.objects.standing(work.recorded_at).filter(vessel__darkroom=work.darkroom)
    sums = standing_now.values_list("vessel").annotate(Sum("volume"), Sum("load"))
    return {vessel: (volume, load) for vessel, volume, load in sums}


def _alike(role: str, one: Batch, other: Batch) -> bool:
    same = one.formula_version.formula_id == other.formula_version.formula_id
    return same and (role == DEVELOPER or one.dilution == other.dilution)


def _named(problem: Problem) -> str:
    return f"{problem.role.replace('_', ' ').capitalize()} {problem.vessel.code}"


def _own_offers(problems: Iterable[Problem]) -> list[str]:
    return [offer for each in problems for offer in each.verdict.offers]


def _reason(problem: Problem, shelf: Shelf) -> dict[str, Any]:
    verdict = problem.verdict
    others = shelf.others(problem.role, problem.vessel)[:MOST_OFFERS]
    return {
        "role": problem.role,
        "vessel": str(problem.vessel.public_id),
        "code": verdict.code,
        "reason": verdict.reason,
        "offers": list(verdict.offers),
        "vessels": [{"id": str(each.public_id), "code": each.code} for each in others],
    }


def _offer(vessel: Vessel, tank: Tank) -> dict[str, Any]:
    return {
        "vessel": str(vessel.public_id),
        "code": vessel.code,
        "tank": {"value": f"{tank.volume_ml:f}", "unit": "mL"},
        "dilution": str(tank.dilution),
    }


def _in_words(offer: dict[str, Any]) -> str:
    return f"{offer['tank']['value'].removesuffix('.0')} mL at {offer['dilution']} from {offer['code']}"
