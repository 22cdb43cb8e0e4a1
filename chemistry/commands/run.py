"""A tank's run through a line, from rows to the figures that the pure rules judge: plans and check-ins alike."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any
from uuid import UUID

from accounts.commands import scope
from accounts.commands.entry import Work
from chemistry.models import Batch, Line, LineStep, Vessel
from chemistry.science import film
from chemistry.science.dilution import Dilution, NotADilution, parse
from chemistry.science.formula import Material, Process, Use
from chemistry.science.tank import Bath, Need, Tank, carried
from darkroom_service.quantity import area_units, load_units, millilitres, rolls
from darkroom_service.refusal import Malformed
from waste.models import Container

ONE_SHOT = "one_shot"
USES: dict[str, Use] = {ONE_SHOT: Use.FRESH, "reuse": Use.REUSE, "replenished": Use.REPLENISHED}
INDUCTION = "room-induction"


@dataclass(frozen=True)
class Film:
    """So many films or sheets of one format; no process is that of the line."""

    format: str
    count: int
    process: str = ""


@dataclass(frozen=True)
class Loading:
    """What goes into the tank and how, as told: ``tank`` in 0.1 mL, ``use`` one of ``USES``."""

    films: tuple[Film, ...]
    tank: int
    use: str
    dilution: str
    compensate: bool = False


@dataclass(frozen=True)
class Filled:
    """A loaded tank: as the rules read it, and on the ledgers' grids. ``films`` as it is stored."""

    tank: Tank
    load: int
    area: int
    films: list[dict[str, Any]]


@dataclass
class Stage:
    """One step of the run: the vessel, the batch in it at that time, what it holds and what it is asked for."""

    role: str
    vessel: Vessel
    batch: Batch
    container: Container | None
    bath: Bath
    need: Need


def steps(work: Work, line: UUID) -> list[LineStep]:
    """Return the steps of a line that a body names, in order, with all that the rules need, in one query."""
    rows = LineStep.objects.filter(line__darkroom=work.darkroom, line__public_id=line)
    needed = ("line", "vessel__batch__formula_version__formula", "vessel__owner", "container__stream")
    if found := list(rows.select_related(*needed).order_by("position")):
        return found
    raise scope.unknown("line", "/line")


def fill(work: Work, line: Line, loading: Loading) -> Filled:
    """Read what was put into the tank, or refuse the body where it names no format or no clear dilution."""
    formats = [_format(each.format, index) for index, each in enumerate(loading.films)]
    material = formats[0].material
    for index, each in enumerate(formats):
        if each.material is not material:
            words = "Film and paper never share a tank. Enter them as two."
            raise Malformed("film.mixed", words, pointer=f"/films/{index}/format")
    films = [Film(each.format, each.count, each.process or line.process) for each in loading.films]
    load = sum((known.load * each.count for known, each in zip(formats, films, strict=True)), Fraction(0))
    area = sum((known.area_cm2 * each.count for known, each in zip(formats, films, strict=True)), Decimal(0))
    room = work.darkroom
    per_roll = room.carry_out_film if material is Material.FILM else room.carry_out_paper
    volume = millilitres(loading.tank)
    tank = Tank(
        volume, load, material, tuple(Process(each.process) for each in films), USES[loading.use],
        read_dilution(loading.dilution), carried(millilitres(per_roll), load, volume), loading.compensate,
    )  # fmt: skip
    return Filled(tank, load_units(load), area_units(area), [vars(each) for each in films])


def read_dilution(text: str) -> Dilution:
    """Read a dilution, or refuse it with what may have been meant."""
    try:
        return parse(text)
    except NotADilution as fault:
        code = "dilution.ambiguous" if fault.offers else "dilution.malformed"
        raise Malformed(code, str(fault), pointer="/dilution", offers=list(fault.offers)) from None


def bath(vessel: Vessel, batch: Batch, line: Line, held: tuple[int, int] = (0, 0)) -> Bath:
    """Return what the rules read off a vessel's row; ``held`` is the volume and load that plans keep of it."""
    return Bath(
        rules=batch.formula_version.rules,
        dilution=batch.dilution,
        use=Use(vessel.use) if vessel.use else None,
        material=Material(vessel.film_or_paper or line.film_or_paper),
        contents_ml=millilitres(vessel.contents),
        basis_ml=millilitres(vessel.basis),
        load=rolls(vessel.load),
        held_ml=millilitres(held[0]),
        held_load=rolls(held[1]),
    )


def shared(stages: Sequence[Stage]) -> list[Stage]:
    """Return the stages whose vessels are shared: a member's own bottle stands outside shared cost."""
    return [stage for stage in stages if stage.vessel.owner_id is None]


def _format(code: str, index: int) -> film.Format:
    try:
        return film.find(code)
    except film.UnknownFormat as fault:
        raise Malformed(
            "format.unknown", str(fault), pointer=f"/films/{index}/format", offers=list(fault.offers)
        ) from None
