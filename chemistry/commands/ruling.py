"""Which rules a report broke. The report stands; the flags say what to mind, and some of them stop a vessel."""

from collections.abc import Iterable, Iterator

from accounts.commands.entry import Work
from chemistry.commands import run, standing
from chemistry.commands.ledger import Book
from chemistry.commands.pouring import Pour
from chemistry.models import Batch, BatchState, Vessel, VesselState
from chemistry.science import plan as rules
from chemistry.science import way
from chemistry.science.formula import Material, Use
from chemistry.science.tank import Tank
from darkroom_service.localday import day_of

# What a bath is said to be good for says nothing of an earlier filling; these hold whatever stands in the vessel now.
TIMELESS = frozenset({
    "step.other_kind", "film.backed", "film.other_process", "dilution.not_offered", "dilution.other_strength",
    "formula.not_replenished", "tank.short_of_stock",
})  # fmt: skip
FOREIGN = frozenset({"film.backed", "film.other_process"})
SPOILING = frozenset({"vessel.fresh", "vessel.first_bath", "vessel.other_formula", "vessel.other_strength"})
# Not worth telling anybody: they explain the record, and nobody need do anything.
QUIET = frozenset({"vessel.level_known", "vessel.refilled"})


def of_stage(book: Book, stage: run.Stage, tank: Tank, *, minor: bool) -> list[str]:
    """Return the rules that a tank broke in one vessel, before its liquid is moved."""
    found = [each.code for each in rules.judge(stage.role, tank, stage.bath)]
    handling = rules.judge_handling(stage.bath, minor=minor)
    found += [] if handling.ok else [handling.code]
    if book.gone(stage.vessel):
        return [code for code in found if code in TIMELESS | {handling.code}] + ["vessel.refilled"]
    # What the record lacks is found by the ledger itself, which knows what later looks have seen.
    found = [code for code in found if code != "vessel.short"]
    return [*found, *_of_state(book.work, stage.vessel, stage.batch), *_of_record(book, stage.vessel)]


def of_pour_back(book: Book, pour: Pour) -> list[str]:
    """Return the rules broken by what was poured back, and where; an earlier filling is beyond harm."""
    if not pour.back or book.gone(pour.into):
        return []
    stage, into = pour.stage, pour.into
    liquid = way.Liquid(
        stage.batch.formula_version.formula.code, str(stage.need.dilution), stage.need.use, stage.bath.material,
        used=True, never_poured_back=stage.bath.rules.never_poured_back,
    )  # fmt: skip
    held = _held(into, stage) if pour.home or into.contents else None
    verdict = way.judge_pour_back(liquid, held)
    return [] if verdict.ok else [verdict.code]


def spoilt(book: Book, pour: Pour) -> Iterator[tuple[Vessel, str]]:
    """Yield the vessel that must not be used again before somebody has looked, and the rule that broke."""
    foreign = [code for code in pour.flags if code in FOREIGN]
    spoiling = [code for code in pour.flags if code in SPOILING]
    if pour.back and (foreign or spoiling) and not book.gone(pour.into):
        yield pour.into, (spoiling or foreign)[0]


def _of_state(work: Work, vessel: Vessel, batch: Batch) -> Iterator[str]:
    """Yield what the vessel's state said against its use, as it was when it was used."""
    found = standing.assess(vessel, work.occurred_at, work.darkroom.zone)
    if found.state == VesselState.STOPPED:
        stop = standing.open_stop(vessel) if work.late else None
        if stop is None or stop.occurred_at <= work.occurred_at:
            yield "vessel.stopped"
    elif found.state == VesselState.SPENT:
        yield "vessel.spent"
    elif found.state == VesselState.TEST_FIRST:
        expired = found.use_by is not None and day_of(work.occurred_at, work.darkroom.zone) > found.use_by
        yield "vessel.expired" if expired else "vessel.test_first"
    released = batch.released_at is None or batch.released_at <= work.occurred_at
    if batch.state not in {BatchState.RELEASED, BatchState.WITHDRAWN} or not released:
        yield "vessel.waiting"


def _of_record(book: Book, vessel: Vessel) -> Iterable[str]:
    if vessel.owner_id not in {None, book.work.whom.pk}:
        yield "vessel.private"
    if book.anchored(vessel):
        yield "vessel.level_known"


def _held(vessel: Vessel, stage: run.Stage) -> way.Liquid:
    """Return what stood in a vessel when used liquid came into it; its first use makes a bath of what was unused."""
    batch = vessel.batch or stage.batch
    use = Use(vessel.use) if vessel.use else None
    if use is None and vessel.pk == stage.vessel.pk:
        use = stage.need.use
    material = Material(vessel.film_or_paper) if vessel.film_or_paper else stage.bath.material
    used = use not in {None, Use.FRESH}
    return way.Liquid(batch.formula_version.formula.code, batch.dilution, use, material, used=used)
