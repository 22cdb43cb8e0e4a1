"""One tank's way through a line: every rule that says no to it, and the time in its developer.

The same judgement serves a plan, which is refused, and a report, which is flagged.
"""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType
from typing import Protocol

from chemistry.science import capacity, development, stock, way
from chemistry.science.dilution import STOCK, parse
from chemistry.science.formula import Form, Kind, Rules, Use
from chemistry.science.tank import DEVELOPER, Bath, Conditions, Need, Tank, need
from chemistry.science.verdict import ALLOWED, Verdict, refused

FITS: Mapping[str, frozenset[Kind]] = MappingProxyType(
    {
        DEVELOPER: frozenset({Kind.DEVELOPER}),
        "stop": frozenset({Kind.STOP_BATH}),
        "fixer_1": frozenset({Kind.FIXER, Kind.BLEACH_FIX}),
        "fixer_2": frozenset({Kind.FIXER, Kind.BLEACH_FIX}),
        "washing_aid": frozenset({Kind.WASHING_AID}),
    }
)
ROOM_C = Decimal(20)


class Judged(Protocol):
    """Any verdict of the rules."""

    @property
    def ok(self) -> bool: ...
    @property
    def code(self) -> str: ...
    @property
    def reason(self) -> str: ...


def judge(role: str, tank: Tank, bath: Bath, *, tanks: Sequence[Decimal] = ()) -> tuple[Verdict, ...]:
    """Return every no of the rules to this tank in this bath, the gravest first; nothing where all is well.

    ``tanks`` are the sizes this room has, for the offers.
    """
    asked = need(role, tank, bath)
    found: Iterator[Judged] = iter(
        (
            judge_role(role, bath.rules.kind),
            *(way.judge_process(bath.rules.process, film) for film in dict.fromkeys(tank.films)),
            way.judge_draw(bath.use, asked.use),
            way.judge_material(bath.material, tank.material),
            *(_developer(tank, bath, asked, tanks) if role == DEVELOPER else ()),
            _capacity(tank, bath, asked, compensate=tank.compensate and role == DEVELOPER),
            judge_contents(bath, asked),
        )
    )
    return tuple(_plain(each) for each in found if not each.ok)


def judge_role(role: str, kind: Kind) -> Verdict:
    """Judge the kind of bath against the step it stands in: a line goes developer, stop, fixer, washing aid."""
    if kind in FITS[role]:
        return ALLOWED
    step, wanted = role.replace("_", " "), " or ".join(sorted(each.replace("_", " ") for each in FITS[role]))
    return refused("step.other_kind", f"The {step} step holds {kind.replace('_', ' ')}.", f"a vessel of {wanted}")


def judge_contents(bath: Bath, asked: Need) -> Verdict:
    """Judge drawn <= contents - held, in mL: what plans have kept for others is not there to be poured."""
    free = max(bath.contents_ml - bath.held_ml, Decimal(0))
    if asked.drawn_ml <= free:
        return ALLOWED
    kept = f" ({_ml(bath.held_ml)} mL more are kept for other plans)" if bath.held_ml else ""
    reason = f"This tank draws {_ml(asked.drawn_ml)} mL and {_ml(free)} mL are left in the vessel{kept}."
    return refused("vessel.short", reason, "another vessel of the same", "a smaller tank")


def judge_handling(bath: Bath, *, minor: bool) -> Verdict:
    """Judge who pours: pupils use ready-made working solutions, never a concentrate; common practice, no source."""
    if not (minor and bath.concentrated and bath.rules.form is Form.LIQUID):
        return ALLOWED
    reason = "This step is poured from undiluted concentrate, which a minor does not handle."
    return refused("minor.concentrate", reason, "a working bath that the technician dilutes", "an adult pours it")


def advise(tank: Tank, bath: Bath, conditions: Conditions) -> development.Time | Verdict:
    """Return the time in the developer from the vessel's load before this tank; without a base time, of one minute.

    Load and basis as ``development.time`` takes them; a one-shot tank starts from nothing. Source: common practice.
    """
    rule = bath.rules.time
    usual = rule.temperature.reference_c if rule.temperature else ROOM_C
    return development.time(
        rule,
        base_min=Decimal(1) if conditions.base_min is None else conditions.base_min,
        load_before=bath.load,
        basis_ml=bath.basis_ml,
        rolls_in_tank=tank.load,
        dilution=str(tank.dilution),
        temperature_c=usual if conditions.temperature_c is None else conditions.temperature_c,
        agitation=conditions.agitation,
        push=conditions.push,
        compensate=tank.compensate and tank.use is not Use.FRESH,
    )


def _developer(tank: Tank, bath: Bath, asked: Need, tanks: Sequence[Decimal]) -> Iterator[Judged]:
    """Judge what only a developer is asked: its strength, its replenisher, and stock for each roll."""
    rules = bath.rules
    yield _offered(tank, rules)
    one_shot_of_stock = asked.use is Use.FRESH and bath.dilution == STOCK
    if str(tank.dilution) != bath.dilution and not one_shot_of_stock:
        reason = f"The vessel holds {bath.dilution}, and what is poured back must be of that strength."
        yield refused("dilution.other_strength", reason, f"{bath.dilution} from this vessel", "one-shot from stock")
    if asked.use is Use.REPLENISHED and rules.replenishing is None:
        yield refused("formula.not_replenished", "The formula says nothing of replenishing.", "one-shot", "reuse")
    others = [parse(each) for each in rules.dilutions] if one_shot_of_stock else []
    yield stock.judge(tank.volume_ml, asked.dilution, tank.load, rules.minimum_stock_ml, tanks=tanks, dilutions=others)


def _offered(tank: Tank, rules: Rules) -> Verdict:
    if str(tank.dilution) in rules.dilutions:
        return ALLOWED
    reason = f"The formula gives no figures for {tank.dilution}."
    return refused("dilution.not_offered", reason, *rules.dilutions)


def _capacity(tank: Tank, bath: Bath, asked: Need, *, compensate: bool) -> Judged:
    if not capacity.counted(asked.use):
        return ALLOWED
    figure = capacity.find(bath.rules, tank.material, asked.use, bath.dilution)
    return capacity.judge(bath.load, bath.held_load, asked.load, bath.basis_ml, figure, compensate=compensate)


def _plain(judged: Judged) -> Verdict:
    return Verdict(judged.ok, judged.code, judged.reason, tuple(map(str, getattr(judged, "offers", ()))))


def _ml(ml: Decimal) -> str:
    return f"{ml.normalize():f}"
