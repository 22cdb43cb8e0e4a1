"""Taking an entry back: every ledger row it wrote is mirrored, none is erased, and what followed is recomputed.

Liquid goes back to where it came from; where it is gone since, the difference comes from unaccounted. Of film that was
charged, what has left the vessel with its liquid since stays where it went.
"""

from fractions import Fraction

from django.db.models import F, Q

from accounts.commands.entry import Work
from accounts.models import Entry
from chemistry.commands import cost, refilling
from chemistry.commands.ledger import Book
from chemistry.models import Batch, Charge, CostShare, Movement, Place, Vessel
from waste.commands import drain as waste_drain
from waste.commands import fill as waste_fill
from waste.models import DrainRelease, Fill


def mirror_locked(work: Work, target: Entry) -> list[str]:
    """Mirror all ledger rows of an entry in this command's name; returns the flags earned on the way."""
    book = Book(work, target.occurred_at)
    named = ("source_batch__formula_version", "target_batch__formula_version", "fill__container", "release")
    rows = list(Movement.objects.filter(entry=target, reverses=None).select_related(*named).order_by("-id"))
    charges = list(Charge.objects.filter(entry=target, reverses=None).order_by("-id"))
    vessels = _vessels(rows, charges)
    stood_empty = [each for each in vessels.values() if each.contents == 0]
    kept = {each.pk: _kept(vessels[each.vessel_id], each) for each in charges if not each.moved}
    poured = {row.fill_id: row.fill for row in rows if row.fill}
    fills = {key: waste_fill.reverse_locked(work, fill) for key, fill in poured.items()}
    let_down = {row.release_id: row.release for row in rows if row.release}
    releases = {key: waste_drain.reverse_locked(work, release) for key, release in let_down.items()}
    # What goes back into a vessel before what is taken out of it again, or a tank poured back would seem to be missing.
    for row in sorted(rows, key=lambda row: row.target_vessel_id is not None):
        _mirror_movement(book, row, vessels, fills.get(row.fill_id), releases.get(row.release_id))
    for charge in charges:
        _mirror_charge(book, charge, vessels[charge.vessel_id], kept.get(charge.pk, Fraction(1)))
    shares = _mirror_cost(work, target)
    for vessel in vessels.values():
        refilling.step_back(vessel, target)
    book.close(rethink=True)
    book.flags += refilling.doubt_locked(work, target, [each for each in stood_empty if each.contents])
    cost.settle_moved_locked(work, book.movements)
    borne = {each for share in shares for each in (share.batch_id, share.into_id) if each}
    for batch in Batch.objects.filter(pk__in=borne).exclude(closed_at=None):
        cost.settle_locked(work, batch)
    return book.flags


def _vessels(rows: list[Movement], charges: list[Charge]) -> dict[int, Vessel]:
    ids = {each for row in rows for each in (row.source_vessel_id, row.target_vessel_id) if each}
    ids |= {charge.vessel_id for charge in charges}
    return {each.pk: each for each in Vessel.objects.with_contents().filter(pk__in=ids)}


def _mirror_movement(
    book: Book, row: Movement, vessels: dict[int, Vessel], fill: Fill | None, release: DrainRelease | None
) -> None:
    """Let the liquid of one row go back; what only changed its batch changes it back, as much as is left."""
    source, target = vessels.get(row.target_vessel_id or 0), vessels.get(row.source_vessel_id or 0)
    if source and source is target:
        _unlabel(book, row, source)
        return
    # Of a place that is no vessel, the batch is the one it was then: what comes from there may stand as another now.
    source_batch, source_basis = _take(book, row, source) if source else (row.target_batch or row.source_batch, 0)
    target_batch, target_basis = _give(book, row, target) if target else (row.source_batch or row.target_batch, 0)
    book.row(
        row.volume, Place(row.target), Place(row.source), source_vessel=source, source_batch=source_batch,
        source_basis=source_basis, target_vessel=target, target_batch=target_batch, target_basis=target_basis,
        fill=fill, release=release, reverses=row,
    )  # fmt: skip
    if target:
        book.settle(target, row.volume, target_batch)


def _take(book: Book, row: Movement, vessel: Vessel) -> tuple[Batch | None, int]:
    """Take out again what a row had brought; returns the batch and the basis it leaves with."""
    batch = row.target_batch if book.gone(vessel) else vessel.batch
    short = row.volume if book.anchored(vessel) else row.volume - vessel.contents
    if short > 0:
        book.into(vessel, short, Place.UNACCOUNTED, source_batch=batch, basis=0, batch=batch)
    basis = 0 if book.gone(vessel) else min(row.target_basis, vessel.basis)
    vessel.contents -= row.volume
    vessel.basis -= basis
    book.touch(vessel)
    return batch, basis


def _give(book: Book, row: Movement, vessel: Vessel) -> tuple[Batch | None, int]:
    """Bring back what a row had taken; returns the batch and the basis it comes with."""
    batch = row.source_batch if book.gone(vessel) else vessel.batch
    basis = 0 if book.anchored(vessel) else row.source_basis
    vessel.contents += row.volume
    vessel.basis += basis
    book.touch(vessel)
    return batch, basis


def _unlabel(book: Book, row: Movement, vessel: Vessel) -> None:
    """Let what is left count as part of its former batch again, unless it became part of yet another since."""
    child, former = vessel.batch, row.source_batch
    if former is None or child is None or book.gone(vessel) or child.pk != row.target_batch_id:
        return
    book.rename(vessel, row.volume, child, former, reverses=row)
    more = vessel.contents - row.volume
    book.rename(vessel, abs(more), *((child, former) if more > 0 else (former, child)))
    vessel.batch = former
    book.touch(vessel)


def _mirror_charge(book: Book, charge: Charge, vessel: Vessel, kept: Fraction) -> None:
    """Mirror a charge. What had come along with liquid follows the liquid; of film, what is left is taken off."""
    book.charge_row(vessel, -charge.load, -charge.area, moved=charge.moved, reverses=charge)
    gone = vessel.filled_at is not None and charge.occurred_at < vessel.filled_at
    if gone or (charge.load < 0 and book.anchored(vessel)):
        book.charge_row(vessel, charge.load, charge.area, moved=True)
        return
    left = [max(each - round(each * kept), 0) for each in (charge.load, charge.area)]
    stays = [max(each, -total) for each, total in zip(left, (vessel.load, vessel.area), strict=True)]
    book.charge_share(vessel, *stays)


def _kept(vessel: Vessel, charge: Charge) -> Fraction:
    """Return the share of a charge still in the vessel, by what was poured out with its share since."""
    later = Movement.objects.filter(Q(source_vessel=vessel) | Q(target_vessel=vessel), entry_id__gt=charge.entry_id)
    basis, kept = vessel.basis, Fraction(1)
    for row in later.select_related("reversed_by").order_by("-id"):
        lost = row.source_basis if row.source_vessel_id == vessel.pk else 0
        gained = row.target_basis if row.target_vessel_id == vessel.pk else 0
        basis += lost - gained
        undone = row.reverses_id is not None or hasattr(row, "reversed_by")
        if lost and not gained and not undone:
            kept *= 1 - Fraction(lost, basis)
    return kept


def _mirror_cost(work: Work, target: Entry) -> list[CostShare]:
    """Mirror who bore what; returns the shares taken back."""
    shares = list(CostShare.objects.filter(entry=target, reverses=None))
    CostShare.objects.bulk_create(
        CostShare(
            batch_id=share.batch_id, member_id=share.member_id, into_id=share.into_id, minor=-share.minor,
            reverses=share, entry_id=work.entry_id, occurred_at=target.occurred_at,
        )
        for share in shares
    )  # fmt: skip
    for share in shares:
        if share.into_id:
            Batch.objects.filter(pk=share.into_id).update(cost_minor=F("cost_minor") - share.minor)
    return shares
