"""Liquid poured from vessel to vessel: judged, told what it becomes part of, and what becomes of the vessel."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from decimal import Decimal

from django.db.models import Sum

from accounts.commands.entry import Work
from chemistry.commands import batch as batches
from chemistry.commands import cost, standing
from chemistry.commands.ledger import Book
from chemistry.commands.stop import stop_locked
from chemistry.models import Batch, BatchState, Hold, Vessel, VesselState
from chemistry.models.stop import StopKind
from chemistry.science import way
from chemistry.science.dilution import STOCK
from chemistry.science.formula import Material, Use
from chemistry.science.verdict import ALLOWED, Verdict, refused
from darkroom_service.quantity import millilitres

HOT_C = Decimal(30)  # our choice: warmer than any room or process, so that it still shrinks in the closed bottle
SPOILING = frozenset({
    "vessel.fresh", "vessel.first_bath", "vessel.other_formula", "vessel.other_strength", "vessel.other_material",
    "vessel.other_use", "batch.unreleased", "replenisher.other",
})  # fmt: skip


def judge(
    book: Book, source: Vessel, target: Vessel, volume: int, *, back: bool = False, warm_c: Decimal | None = None
) -> list[Verdict]:
    """Judge a pour between two vessels by the record; of a level, a later look at the vessel knows better."""
    verdicts = [*judge_stock(book, source, volume), *_hot(warm_c)]
    verdicts += [known(target)] if book.anchored(target) else _fitting(target, volume)
    if target.contents and not book.gone(source) and not book.gone(target):
        verdicts += [way.judge_pour_back(liquid(source, used=back), liquid(target)), _standing(source.batch, target)]
    return [each for each in verdicts if not each.ok]


def judge_stock(book: Book, source: Vessel, volume: int) -> Iterator[Verdict]:
    """Yield what speaks against pouring from a vessel."""
    if book.anchored(source):
        yield known(source)
        return
    if source.state == VesselState.STOPPED or (source.state == VesselState.EMPTIED and standing.open_stop(source)):
        yield refused("vessel.stopped", f"{source.name} was stopped: what is in it is doubtful.", "another vessel")
    if source.batch and source.batch.rest_until and book.at < source.batch.rest_until:
        until = f"{source.batch.rest_until:%Y-%m-%d %H:%M} UTC"
        yield refused("batch.resting", f"Batch {source.batch.code} rests until {until}.", f"wait until {until}")
    if volume > source.contents:
        has = f"{millilitres(source.contents)} mL"
        yield refused("vessel.short", f"By the record {source.name} holds {has}.", f"at most {has}", "read its level")
    elif volume > source.contents - (kept := held(source, book.at)):
        words = f"{millilitres(kept)} mL of {source.name} are kept for tanks planned."
        yield refused("vessel.held", words, "another vessel", "tell those who planned them")


def judge_made(book: Book, target: Vessel, volume: int, *, of: Batch, dilution: str) -> list[Verdict]:
    """Judge new liquid, made of a batch at a dilution, coming into a vessel that ought to be empty."""
    version = of.formula_version
    verdicts = [known(target)] if book.anchored(target) else list(_fitting(target, volume))
    if dilution != STOCK and dilution not in version.rules.dilutions:
        offered = version.rules.dilutions
        verdicts.append(refused("dilution.not_offered", f"The formula names no {dilution}.", *offered))
    if target.contents and not book.gone(target):
        made = way.Liquid(
            version.formula.code, dilution, never_poured_back=version.rules.never_poured_back
        )  # fmt: skip
        verdicts += [way.judge_pour_back(made, liquid(target)), _standing(of, target)]
    return [each for each in verdicts if not each.ok]


def held(vessel: Vessel, at: datetime) -> int:
    """Return what tank plans keep of a vessel at an instant, in 0.1 mL."""
    kept = Hold.objects.filter(vessel=vessel, released_at=None, until__gt=at)
    return kept.aggregate(sum=Sum("volume"))["sum"] or 0


def _hot(warm_c: Decimal | None) -> Iterator[Verdict]:
    if warm_c is not None and warm_c > HOT_C:
        reason = f"At {warm_c} °C it shrinks as it cools, pulls the bottle in and draws air past the cap."
        yield refused("vessel.closed_hot", reason, "let it cool to room temperature first")


def _fitting(target: Vessel, volume: int) -> Iterator[Verdict]:
    room = target.nominal - target.contents
    if volume > room:
        most = f"{millilitres(max(room, 0))} mL"
        yield refused("vessel.overfull", f"{target.name} has room for {most}.", f"at most {most}", "a larger vessel")


def _standing(batch: Batch | None, target: Vessel) -> Verdict:
    """Judge unreleased liquid coming to released."""
    there = target.batch
    if batch is None or there is None or batch.pk == there.pk or there.state != BatchState.RELEASED:
        return ALLOWED
    if batch.state == BatchState.RELEASED:
        return ALLOWED
    reason = f"Batch {batch.code} is not released yet, and what is in {target.name} is in use."
    return refused("batch.unreleased", reason, "wait for its release", "an empty vessel")


def known(vessel: Vessel) -> Verdict:
    """Say that a later look at the vessel knows its level better."""
    words = f"The level of {vessel.name} was known for sure after that."
    return refused("vessel.level_known", words, "tell what happened since")


def liquid(vessel: Vessel, *, used: bool = False) -> way.Liquid:
    """Return what stands in a filled vessel as the rules of use read it; ``used``: it comes back from film."""
    batch = vessel.batch
    if batch is None:
        raise ValueError("an unfilled vessel holds no liquid")
    return way.Liquid(
        batch.formula_version.formula.code,
        batch.dilution,
        Use(vessel.use) if vessel.use else None,
        Material(vessel.film_or_paper) if vessel.film_or_paper else None,
        used=used or has_worked(vessel),
        never_poured_back=batch.formula_version.rules.never_poured_back,
    )


def has_worked(vessel: Vessel) -> bool:
    """Tell whether film or paper has been through what stands in a vessel."""
    return vessel.load > 0 or vessel.use not in {"", Use.FRESH}


def receive(book: Book, source: Vessel, target: Vessel, batch: Batch, volume: int) -> Batch:
    """Make the target ready for a pour and return the batch it counts as part of there."""
    if book.anchored(target):
        return book.batch_of(target) or batch
    zone = book.work.darkroom.zone
    known = None if book.gone(source) else source
    if target.contents == 0:
        standing.begin_filling(target, batch, book.at, source=known, zone=zone)
        return batch
    if known:
        standing.join(target, known, volume, book.at, zone)
        if has_worked(known) and not has_worked(target):
            target.use, target.film_or_paper = known.use, known.film_or_paper
    return blend(book, target, batch, volume)


def blend(book: Book, target: Vessel, batch: Batch, volume: int) -> Batch:
    """Return the batch that what stands in the target and a volume of another batch are together."""
    there = target.batch
    if there is None or there.pk == batch.pk:
        return batch
    child = batches.blended_locked(book.work, [there, batch])
    child.made = target.contents + volume
    child.release_density = there.release_density
    child.fresh_clearing_s, child.fresh_clearing_film = there.fresh_clearing_s, there.fresh_clearing_film
    child.save(update_fields=["made", "release_density", "fresh_clearing_s", "fresh_clearing_film"])
    cost.pass_on_locked(book.work, there, child, target.contents)
    cost.pass_on_locked(book.work, batch, child, volume)
    book.relabel(target, child)
    return child


def restate(book: Book, vessel: Vessel, contents_before: int) -> None:
    """Recompute what pouring from or into a vessel changes: the air shut in, part-full since, its date and state."""
    if book.gone(vessel):
        return
    standing.opened(vessel, book.at, contents_before)
    if not book.anchored(vessel):
        standing.part_full_from(vessel, book.at)
    standing.refresh(vessel, book.work)


def spoil_locked(work: Work, source: Vessel | None, target: Vessel, verdicts: Iterable[Verdict]) -> None:
    """Stop the target where what came makes it doubtful, or comes from a stopped vessel; call it after the pour."""
    broken = {each.code: each.reason for each in verdicts}
    if source and "vessel.stopped" in broken and (earlier := standing.open_stop(source)):
        words = f"What came from {source.name} ({source.code}) was stopped there: {earlier.reason}"
        stop_locked(work, target, kind=StopKind(earlier.kind), reason=words)
    elif spoilt := [code for code in broken if code in SPOILING]:
        stop_locked(work, target, kind=StopKind.RULE_BROKEN, reason=broken[spoilt[0]])
