"""One tray of a session: filled from its source, emptied to where it goes."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from uuid import UUID

from chemistry.commands import emptying, joining, moving, run, standing
from chemistry.commands import vessel as vessels
from chemistry.commands.ledger import Book, is_large
from chemistry.models import Batch, Place, Vessel
from chemistry.science import capacity, way
from chemistry.science.dilution import STOCK
from chemistry.science.formula import Material, Use
from chemistry.science.plan import judge_role
from chemistry.science.verdict import Verdict
from waste.models import Container


@dataclass(frozen=True)
class Filling:
    """What went into a tray, ``volume`` in 0.1 mL; no dilution, or the source's own, is the source as it is."""

    role: str
    tray: UUID
    source: UUID
    volume: int
    dilution: str = ""


@dataclass(frozen=True)
class Emptying:
    """Where a tray went: into a vessel or a container; what is left out is the line's container, and all of it."""

    role: str
    vessel: UUID | None = None
    container: UUID | None = None
    volume: int | None = None


@dataclass
class Poured:
    """A pour as written: the rules it broke, and the batches that may be used up by it."""

    source: Vessel
    target: Vessel | None
    verdicts: list[Verdict] = field(default_factory=list)
    flags: list[str] = field(default_factory=list)
    ended: list[Batch] = field(default_factory=list)

    @property
    def codes(self) -> list[str]:
        return [*(each.code for each in self.verdicts), *self.flags]


def fill(book: Book, told: Filling, source: Vessel, tray: Vessel) -> Poured:
    """Fill a tray; from here on its way of use is trays, of paper."""
    done = Poured(source, tray)
    _clear(book, done, tray)
    batch = vessels.batch_then(book, source)
    if told.dilution and str(run.read_dilution(told.dilution)) != batch.dilution:
        done.verdicts = moving.dilute_within(book, source, tray, told.volume, told.dilution)
    else:
        _, done.verdicts = moving.pour_within(book, source, tray, told.volume)
        done.verdicts += moving.handling(book.work, batch)
    held = next(row.target_batch for row in reversed(book.movements) if row.target_vessel_id == tray.pk)
    done.flags += _doubts(book, told.role, held or batch, source, tray)
    if book.anchored(tray):
        done.ended.append(held or batch)
    else:
        tray.use, tray.film_or_paper = Use.TRAY, Material.PAPER
        standing.refresh(tray, book.work)
    done.ended += [batch] if source.contents == 0 else []
    return done


def empty(book: Book, told: Emptying, tray: Vessel, goal: Vessel | Container | None) -> Poured:
    """Empty a tray into a vessel, a container or nobody knows where; what is missing of it is unaccounted."""
    known, before = not book.anchored(tray), tray.contents
    done = Poured(tray, goal if isinstance(goal, Vessel) else None, ended=[vessels.batch_then(book, tray)])
    amount = told.volume if told.volume is not None else before * known
    if amount and isinstance(goal, Vessel):
        done.ended += [goal.batch] if goal.batch and goal.contents else []
        _, verdicts = moving.pour_within(book, tray, goal, amount)
        done.verdicts = [each for each in verdicts if not _used_alike(each, goal)]
    elif amount and isinstance(goal, Container):
        done.flags += emptying.to_waste(book, tray, goal, amount).flags
    if not known:
        done.flags.append("vessel.level_known")
        return done
    if tray.contents:
        done.flags += ["pour_back.short"] if is_large(tray.contents, before) else []
        book.leave(tray, tray.contents, Place.UNACCOUNTED)
    book.level_known(tray)
    joining.restate(book, tray, before)
    return done


def _clear(book: Book, done: Poured, tray: Vessel) -> None:
    """Let go what the record still has in a tray: it was poured away before, and nobody wrote it down."""
    if tray.contents == 0 or book.anchored(tray):
        return
    done.flags.append("vessel.not_empty")
    done.ended += [tray.batch] if tray.batch else []
    book.leave(tray, tray.contents, Place.UNACCOUNTED)


def _doubts(book: Book, role: str, held: Batch, source: Vessel, tray: Vessel) -> Iterator[str]:
    """Yield what speaks against this liquid in this tray, beyond the pour itself."""
    rules = held.formula_version.rules
    if not (fits := judge_role(role, rules.kind)).ok:
        yield fits.code
    if held.dilution == STOCK and STOCK not in rules.dilutions:
        yield "dilution.not_offered"
    if capacity.find(rules, Material.PAPER, Use.TRAY, held.dilution) is None:
        yield "capacity.not_promised"
    if joining.has_worked(source) and not book.gone(source):
        use = Use(source.use) if source.use else None
        material = Material(source.film_or_paper) if source.film_or_paper else None
        found = (way.judge_draw(use, Use.TRAY), way.judge_material(material, Material.PAPER))
        yield from (each.code for each in found if not each.ok)
    if {source.owner_id, tray.owner_id} - {None, book.work.whom.pk}:
        yield "vessel.private"


def _used_alike(verdict: Verdict, vessel: Vessel) -> bool:
    """Tell whether the one thing against a pour is that paper went through one in trays, through the other in tanks."""
    return verdict.code == "vessel.other_use" and vessel.use == Use.REUSE
