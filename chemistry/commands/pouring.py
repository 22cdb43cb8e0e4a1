"""What one tank did to one vessel, as rows of both ledgers: drawn, carried out, poured back or away, charged."""

from dataclasses import dataclass, field
from fractions import Fraction

from chemistry.commands import destination, origin, run, standing
from chemistry.commands.ledger import Book, is_large
from chemistry.commands.posting import portion
from chemistry.models import Place, Vessel
from chemistry.science.blend import share
from chemistry.science.formula import Replenishing, Use
from darkroom_service.quantity import TENTHS_PER_ML, tenths
from waste.commands.fill import pour_locked

WROTE = "check-in"


@dataclass
class Pour:
    """How one stage's tank was emptied, in 0.1 mL. ``back`` went into ``into``, ``away`` to the stage's container.

    ``named``: somebody said which container it was. Where none takes what did not come back, it is unaccounted.
    """

    stage: run.Stage
    drawn: int
    water: int
    carried: int
    back: int
    extra: int
    away: int
    into: Vessel
    named: bool
    flags: list[str] = field(default_factory=list)

    @property
    def home(self) -> bool:
        """Tell whether what came back went where it was drawn from."""
        return self.into.pk == self.stage.vessel.pk

    @property
    def told_away(self) -> bool:
        """Tell whether what did not come back was poured away: somebody said so, or nothing comes back."""
        return self.named or not self.stage.need.comes_back


def read(stage: run.Stage, back: int | None, into: Vessel | None, *, told_away: bool) -> Pour:
    """Work out how a stage's tank was emptied: as told, or as its way of use has it."""
    drawn, water = tenths(stage.need.drawn_ml), tenths(stage.need.water_ml)
    tank, carried = drawn + water, tenths(stage.need.carried_ml)
    if back is None:
        # However much film is told: something comes back, or the vessel's load would be gone with the last of it.
        back = max(tank - carried, 1) if stage.need.comes_back else 0
    extra = max(back - tank, 0)
    carried = min(carried, tank + extra - back)
    away = tank + extra - back - carried
    pour = Pour(stage, drawn, water, carried, back, extra, away, into or stage.vessel, named=told_away)
    if extra:
        pour.flags.append("pour_back.over")
    if not pour.told_away and is_large(away, tank):
        pour.flags.append("pour_back.short")
    return pour


def write(book: Book, pour: Pour, load: int, area: int) -> None:
    """Write the rows of one stage; ``load`` and ``area`` are those of the whole tank."""
    stage, vessel, into = pour.stage, pour.stage.vessel, pour.into
    before = {each.pk: each.contents for each in (vessel, into)}
    taken = _draw(book, pour)
    book.water(pour.water, batch=stage.batch)
    book.row(pour.extra, Place.UNACCOUNTED, Place.RUN, target_batch=stage.batch)
    book.running += pour.extra
    book.run_to(Place.CARRIED_OUT, pour.carried, batch=stage.batch)
    worked = (share(load, pour.back, _poured(pour)), share(area, pour.back, _poured(pour)))
    _first_use(book, stage)
    _give_back(book, pour, taken)
    if any(worked):
        book.charge(into, *worked)
    _pour_away(book, pour, taken, load - worked[0], area - worked[1])
    for each in {vessel.pk: vessel, into.pk: into}.values():
        _restate(book, each, before[each.pk])


def _poured(pour: Pour) -> int:
    """Return what was poured out of the tank; never nothing, so that shares can be taken of it."""
    return max(pour.back + pour.away, 1)


def _draw(book: Book, pour: Pour) -> tuple[int, int]:
    """Draw what comes home without its load, and the rest with its share; returns the load and area that went."""
    vessel = pour.stage.vessel
    lost = pour.drawn
    if pour.stage.need.comes_back and pour.home:
        lost = share(pour.drawn, pour.away, max(pour.drawn + pour.water, pour.away, 1))
    known = 0 if book.gone(vessel) else min(lost, vessel.contents)
    taken = portion(vessel, known) if known else (0, 0)
    if lost:
        book.draw(vessel, lost, comes_back=False)
    if pour.drawn > lost:
        book.draw(vessel, pour.drawn - lost, comes_back=True)
    return taken


def _give_back(book: Book, pour: Pour, taken: tuple[int, int]) -> None:
    stage, into = pour.stage, pour.into
    if pour.home:
        if pour.back:
            book.give_back(into, pour.back)
        return
    if into.contents == 0 and not book.gone(into):
        standing.begin_filling(into, stage.batch, book.at, source=stage.vessel, zone=book.work.darkroom.zone)
    book.into(into, pour.back, Place.RUN, source_batch=stage.batch, basis=pour.back)
    book.settle(into, pour.back, None)
    book.running -= pour.back
    book.charge_share(into, *(share(each, pour.back, _poured(pour)) for each in taken))


def _pour_away(book: Book, pour: Pour, taken: tuple[int, int], load: int, area: int) -> None:
    """Let what did not come back go to its container with a snapshot of where it came from."""
    stage = pour.stage
    if not pour.away:
        return
    strength = str(stage.need.dilution)
    if pour.told_away and not pour.named:
        stage.container = destination.found_locked(
            book.work, stage.container, batch=stage.batch, dilution=strength, volume=pour.away
        )
    if stage.container is None or not pour.told_away:
        book.run_to(Place.UNACCOUNTED, pour.away, batch=stage.batch)
        return
    old = [share(each, pour.away, _poured(pour)) if not pour.home else each for each in taken]
    told = origin.snapshot(
        stage.batch, wrote=WROTE, volume=pour.away, dilution=strength, load=load + old[0],
        area=area + old[1], film_or_paper=stage.bath.material or "", substances=book.substances,
    )  # fmt: skip
    fill = pour_locked(book.work, container=stage.container, volume=pour.away, origin=told, happened=True)
    pour.flags.extend(fill.flags)
    book.run_to(Place.CONTAINER, pour.away, batch=stage.batch, fill=fill)


def _first_use(book: Book, stage: run.Stage) -> None:
    """Fix a vessel's way of use and material by its first use, and note what replenisher it is owed."""
    vessel, rules = stage.vessel, stage.bath.rules
    if book.gone(vessel):
        return
    vessel.use = vessel.use or stage.need.use.value
    vessel.film_or_paper = vessel.film_or_paper or (stage.bath.material or "")
    if stage.need.use is Use.REPLENISHED and rules.replenishing:
        vessel.replenish_owed += replenisher(rules.replenishing, stage.need.load)


def replenisher(rule: Replenishing, load: Fraction) -> int:
    """Return the replenisher that a load asks for, in 0.1 mL."""
    return round(load * Fraction(rule.ml_per_roll) * TENTHS_PER_ML)


def _restate(book: Book, vessel: Vessel, contents_before: int) -> None:
    if book.gone(vessel):
        return
    standing.opened(vessel, book.at, contents_before)
    if not book.anchored(vessel):
        standing.part_full_from(vessel, book.at)
    standing.refresh(vessel, book.work)
