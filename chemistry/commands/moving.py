"""What each kind of transfer between vessels does, as the inner step of a command."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from accounts.commands.entry import Work
from accounts.commands.scope import named as named_row
from chemistry.commands import air, alert, cost, joining, standing
from chemistry.commands import batch as batches
from chemistry.commands import pack as packs
from chemistry.commands import vessel as vessels
from chemistry.commands.ledger import Book
from chemistry.commands.run import read_dilution
from chemistry.models import Batch, Origin, Pack, Place, Transfer, TransferKind, Vessel
from chemistry.science.dilution import Dilution, NotADilution, parse, split
from chemistry.science.oxidation import Dose
from chemistry.science.verdict import Verdict, refused
from darkroom_service.quantity import millilitres, tenths
from darkroom_service.refusal import Clash, Malformed, NotAllowed


@dataclass(frozen=True)
class Done:
    """A transfer as written, and what the rules said against it."""

    transfer: Transfer
    verdicts: tuple[Verdict, ...] = ()


def between(
    work: Work, kind: TransferKind, *, source: UUID, target: UUID, volume: int | None, warm_c: Decimal | None = None
) -> Done:
    """Pour from vessel to vessel: ``volume`` in 0.1 mL, or all there is."""
    book = Book(work, work.occurred_at)
    giver, taker = pair(work, source, target)
    allow(work, giver, taker)
    amount, verdicts = pour_within(book, giver, taker, volume, back=kind == TransferKind.POUR_BACK, warm_c=warm_c)
    return record(book, kind, amount, verdicts, source=giver, target=taker)


def pour_within(
    book: Book, giver: Vessel, taker: Vessel, volume: int | None, *, back: bool = False, warm_c: Decimal | None = None
) -> tuple[int, list[Verdict]]:
    """Pour from vessel to vessel within another act; returns how much it was and what speaks against it."""
    batch = vessels.batch_then(book, giver)
    amount = all_of(book, giver) if volume is None else volume
    vessels.check_volume(amount, pointer="/volume")
    vessels.check_size(taker, amount, pointer="/volume")
    verdicts = joining.judge(book, giver, taker, amount, back=back, warm_c=warm_c)
    before = (giver.contents, taker.contents)
    into = joining.receive(book, giver, taker, batch, amount)
    book.move(giver, taker, amount, into=into)
    for vessel, contents in zip((giver, taker), before, strict=True):
        joining.restate(book, vessel, contents)
    return amount, verdicts


def dilute(work: Work, *, source: UUID, target: UUID, volume: int, dilution: str) -> Done:
    """Make ``volume`` of a working solution from stock or concentrate."""
    book = Book(work, work.occurred_at)
    giver, taker = pair(work, source, target)
    allow(work, giver, taker)
    verdicts = dilute_within(book, giver, taker, volume, dilution)
    return record(book, TransferKind.DILUTE, volume, verdicts, source=giver, target=taker)


def dilute_within(book: Book, giver: Vessel, taker: Vessel, volume: int, dilution: str) -> list[Verdict]:
    """Dilute within another act; the stock rounds, water is the rest. Returns what speaks against it."""
    work, batch = book.work, vessels.batch_then(book, giver)
    asked, becomes = _strengths(batch, dilution)
    stock_ml, _ = split(millilitres(volume), asked)
    stock = tenths(stock_ml)
    if not 0 < stock < volume:
        words = f"So little cannot be made {asked}: give a larger volume, or decant what needs no water."
        raise Malformed("dilution.immeasurable", words, pointer="/volume")
    vessels.check_size(taker, volume, pointer="/volume")
    verdicts = [*joining.judge_stock(book, giver, stock), *_worked(book, giver), *handling(work, batch)]
    verdicts += joining.judge_made(book, taker, volume, of=batch, dilution=str(becomes))
    child = batches.diluted_locked(work, batch, str(becomes), volume, of=stock)
    before = (giver.contents, taker.contents)
    into = _begin(book, taker, child, volume)
    if into.pk == child.pk:
        _age(book, giver, taker, asked)
    book.move(giver, taker, stock, into=into)
    book.make(taker, volume - stock, Place.WATER, batch=into)
    for vessel, contents in zip((giver, taker), before, strict=True):
        joining.restate(book, vessel, contents)
    return verdicts


def open_pack(
    work: Work, *, pack: UUID, target: UUID | None = None, name: str = "", material: str = "hdpe",
    nominal: int | None = None,
) -> Done:  # fmt: skip
    """Open a pack of liquid: its bottle becomes a vessel, or it is poured whole into one that is there."""
    if not vessels.was_staff(work):
        words = "A technician or an instructor opens packs. Ask one of them."
        raise NotAllowed("transfer.not_yours", words, roles=["instructor", "technician"])
    rows = Pack.objects.filter(darkroom=work.darkroom).select_related("formula_version__formula")
    packed = named_row(rows, pack, pointer="/pack", noun="pack")
    if work.occurred_at < packed.received_at:
        words = "The pack had not been received then. Give the time it was opened."
        raise Malformed("time.before_receipt", words, pointer="/occurred_at")
    book = Book(work, work.occurred_at)
    taker = _bottle(work, packed, target, name=name, material=material, nominal=nominal)
    vessels.check_size(taker, packed.makes, pointer="/target" if target else "/nominal")
    batch = batches.opened_locked(work, packed)
    verdicts = joining.judge_made(book, taker, packed.makes, of=batch, dilution=batch.dilution)
    verdicts += handling(work, batch)
    doubts = packs.doubts(work, [packed])
    before = taker.contents
    into = _begin(book, taker, batch, packed.makes)
    book.make(taker, packed.makes, batch=into, made_as=batch)
    joining.restate(book, taker, before)
    return record(book, TransferKind.OPEN, packed.makes, verdicts, target=taker, more=doubts)


def record(
    book: Book, kind: TransferKind, volume: int, verdicts: Sequence[Verdict], *, source: Vessel | None = None,
    target: Vessel | None = None, more: Sequence[str] = (),
) -> Done:  # fmt: skip
    """Write a transfer with its flags and all its rows, stop what it spoilt, tell whom it concerns, settle the cost."""
    work = book.work
    book.close()
    flags = list(dict.fromkeys([*(each.code for each in verdicts), *more, *book.flags]))
    row = Transfer.objects.create(
        darkroom=work.darkroom, kind=kind, source=source, target=target, volume=volume, flags=flags, by=work.whom,
        entry_id=work.entry_id, occurred_at=work.occurred_at,
    )  # fmt: skip
    if target:
        joining.spoil_locked(work, source, target, verdicts)
    names = " into ".join(each.name for each in (source, target) if each)
    path, what = f"transfers/{row.public_id}", f"{kind.label}, {names}"
    alert.flagged_locked(work, flags, subject=f"transfer:{row.public_id}", path=path, what=what)
    if source and target:
        bear_locked(book, source, target)
    cost.settle_moved_locked(work, book.movements)
    return Done(row, tuple(verdicts))


def bear_locked(book: Book, source: Vessel, target: Vessel) -> None:
    """Let an owner bear what the room's liquid costs that went into their bottle; given back, nothing is repaid."""
    if source.owner_id is not None or target.owner is None:
        return
    poured = [row for row in book.movements if (row.source_vessel, row.target_vessel) == (source, target)]
    # Of what became part of another batch, that one has taken over the cost.
    dues = [(row.target_batch, cost.rate(row.source_batch) * row.volume) for row in poured if row.source_batch]
    cost.charge_locked(book.work, target.owner, [(batch, due) for batch, due in dues if batch])


def pair(work: Work, source: UUID, target: UUID) -> tuple[Vessel, Vessel]:
    """Return the two vessels that a body names."""
    if source == target:
        words = "Nothing is poured from a vessel into itself: name another vessel."
        raise Malformed("transfer.same_vessel", words, pointer="/target")
    return vessels.named(work, source, pointer="/source"), vessels.named(work, target, pointer="/target")


def allow(work: Work, source: Vessel, target: Vessel) -> None:
    """Refuse a member what touches more than a bottle of their own."""
    whose = work.whom
    mine = vessels.is_own(whose, target) and (source.owner_id is None or vessels.is_own(whose, source))
    if not (mine or vessels.was_staff(work)):
        words = (
            "A member pours into a bottle of their own only; shared vessels are a technician's or an instructor's."
            " If it has been done already, ask one of them to enter it on your behalf."
        )
        raise NotAllowed("transfer.not_yours", words, roles=["instructor", "technician"])


def all_of(book: Book, vessel: Vessel) -> int:
    """Return all that a vessel holds; where the record has nothing, or a later look, the volume must be told."""
    if vessel.contents == 0 or book.anchored(vessel):
        words = f"The record does not say how much {vessel.name} held then. Give the volume that was poured."
        raise Clash("vessel.empty", words, vessel=str(vessel.public_id))
    return vessel.contents


def handling(work: Work, batch: Batch) -> list[Verdict]:
    """Say where a minor handled concentrate: pupils get it ready for use."""
    if batch.origin != Origin.OPENED or not work.whom.is_minor(work.occurred_at):
        return []
    return [refused("minor.concentrate", "Pupils do not handle concentrate.", "an adult dilutes it for them")]


def _strengths(batch: Batch, dilution: str) -> tuple[Dilution, Dilution]:
    """Return the dilution asked for, and what comes of it where the liquid was diluted before."""
    asked = read_dilution(dilution)
    try:
        return asked, Dilution((1 + asked.parts) * (1 + parse(batch.dilution).parts) - 1)
    except NotADilution as fault:
        raise Malformed("dilution.malformed", str(fault), pointer="/dilution") from None


def _worked(book: Book, vessel: Vessel) -> list[Verdict]:
    if book.gone(vessel) or not joining.has_worked(vessel):
        return []
    reason = f"Film or paper has been through what is in {vessel.name}: diluted, nobody knows what it is good for."
    return [refused("vessel.used", reason, "dilute from unused stock")]


def _age(book: Book, source: Vessel, target: Vessel, dilution: Dilution) -> None:
    """Let what was diluted bring its share of the oxygen along, and its way of use if it had done work."""
    if book.gone(source) or book.anchored(target):
        return
    brought, share = air.dose(source, book.at, source.contents), dilution.stock_share
    air.keep(target, Dose(*(each * share.numerator / share.denominator for each in (brought.low, brought.high))))
    if joining.has_worked(source):
        target.use, target.film_or_paper = source.use, source.film_or_paper


def _begin(book: Book, target: Vessel, batch: Batch, volume: int) -> Batch:
    """Let newly made liquid begin a filling, or blend with what is there by the record."""
    if book.anchored(target):
        return batch
    if target.contents:
        blended = joining.blend(book, target, batch, volume)
        cost.settle_locked(book.work, batch)  # it never stands anywhere by itself
        return blended
    standing.begin_filling(target, batch, book.at)
    return batch


def _bottle(
    work: Work, packed: Pack, target: UUID | None, *, name: str, material: str, nominal: int | None
) -> Vessel:  # fmt: skip
    if target:
        return vessels.named(work, target, pointer="/target")
    called = name or f"{packed.formula_version.formula.name} {packed.code}"
    return vessels.create_locked(work, name=called[:120], nominal=nominal or packed.makes, material=material)
