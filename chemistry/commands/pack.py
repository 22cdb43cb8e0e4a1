"""Packs: received sealed, discarded with a reason. Opening one is mixing a batch, or opening a concentrate."""

from collections.abc import Iterable, Sequence
from datetime import date
from uuid import UUID

from django.db.models import F

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.coding import fresh_codes
from accounts.commands.entry import Work, command
from accounts.commands.scope import all_named
from chemistry.commands import formula as formulas
from chemistry.models import Batch, Formula, Pack, PackState
from darkroom_service.localday import day_of
from darkroom_service.refusal import Clash, Malformed, Unworkable


@command(Act.PACK_RECEIVE)
def receive(
    work: Work,
    *,
    formula: UUID,
    makes: int,
    price_minor: int,
    pieces: int = 1,
    lot: str = "",
    supplier: str = "",
    best_before: date | None = None,
    sheet_revision: date | None = None,
) -> list[Pack]:
    """Write down packs as they came, one row for each piece; ``makes`` in 0.1 mL and the price are of one piece."""
    version = formulas.named(work, formula)
    if sheet_revision and sheet_revision > day_of(work.recorded_at, work.darkroom.zone):
        words = "A safety data sheet is not revised in the future. Give the revision date printed on it."
        raise Malformed("sheet.future", words, pointer="/sheet_revision")
    codes = fresh_codes(work, Pack, pieces)
    return Pack.objects.bulk_create(
        Pack(
            code=code, darkroom=work.darkroom, formula_version=version, lot=lot, supplier=supplier, makes=makes,
            price_minor=price_minor, received_at=work.occurred_at, best_before=best_before,
            sheet_revision=sheet_revision, entry_id=work.entry_id,
        )
        for code in codes
    )  # fmt: skip


@command(Act.PACK_DISCARD)
def discard(work: Work, pack: Pack, *, reason: str) -> Pack:
    """Write down that a sealed pack was thrown away; a batch that counted on it loses it, and its requester is told."""
    pack = Pack.objects.select_related("batch__requested_by", "formula_version__formula").get(pk=pack.pk)
    if pack.state != PackState.SEALED:
        words = f"Pack {pack.code} was {pack.state} before. A sealed one can be discarded; liquid is emptied by vessel."
        raise Clash("pack.not_sealed", words, state=pack.state)
    if pack.batch:
        _take_from(work, pack, pack.batch, "was discarded")
    pack.state, pack.discard_reason, pack.batch = PackState.DISCARDED, reason, None
    pack.version += 1
    pack.save(update_fields=["state", "discard_reason", "batch", "version"])
    return pack


def _take_from(work: Work, pack: Pack, batch: Batch, how: str) -> None:
    """Take a pack from a batch that counted on it; its requester and the technicians are told."""
    Batch.objects.filter(pk=batch.pk).update(
        wanted=F("wanted") - pack.makes, cost_minor=F("cost_minor") - pack.price_minor, version=F("version") + 1
    )
    notice.post_locked(
        work,
        kind="pack-gone",
        subject=f"pack:{pack.public_id}",
        text=f"Pack {pack.code} of {pack.formula_version.formula.name} {how}; batch {batch.code} counted on it.",
        path=f"batches/{batch.public_id}",
        to_roles=[Role.TECHNICIAN],
        to=[batch.requested_by],
    )


def sealed_locked(work: Work, formula: Formula, packs: Sequence[UUID]) -> list[Pack]:
    """Return the packs asked for, or say which of them cannot be mixed: opened, of another formula, or spoken for."""
    chosen = _of_one_formula(work, formula, packs)
    for place, each in enumerate(chosen):
        if each.batch:
            words = f"Pack {each.code} is meant for batch {each.batch.code}. Name another, or cancel that batch."
            facts = {"pack": str(each.public_id), "place": place, "batch": str(each.batch.public_id)}
            raise Clash("pack.spoken_for", words, **facts)
    return chosen


def used_locked(work: Work, formula: Formula, packs: Sequence[UUID]) -> list[Pack]:
    """Return the packs somebody mixed unasked; a batch that one of them was meant for loses it."""
    chosen = _of_one_formula(work, formula, packs)
    for each in chosen:
        if each.batch:
            _take_from(work, each, each.batch, "was mixed unasked")
    return chosen


def _of_one_formula(work: Work, formula: Formula, packs: Sequence[UUID]) -> list[Pack]:
    rows = Pack.objects.filter(darkroom=work.darkroom)
    rows = rows.select_related("formula_version__formula", "batch__requested_by")
    chosen = all_named(rows, packs, pointer="/packs", noun="pack")
    for place, each in enumerate(chosen):
        facts = {"pack": str(each.public_id), "place": place}
        if each in chosen[:place]:
            raise Malformed("pack.repeated", "This pack is named twice. Name each once.", pointer=f"/packs/{place}")
        if each.formula_version.formula_id != formula.pk:
            other = each.formula_version.formula.name
            words = f"Pack {each.code} is {other}, not {formula.name}. Name packs of one formula."
            raise Unworkable("pack.other_formula", words, **facts)
        if each.state != PackState.SEALED:
            raise Clash("pack.not_sealed", f"Pack {each.code} was {each.state}. Name a sealed one.", **facts)
    return chosen


def doubts(work: Work, packs: Iterable[Pack]) -> list[str]:
    """Return the flag of packs past their date: the release test decides on what is made of them."""
    today = day_of(work.recorded_at, work.darkroom.zone)
    return ["pack.past_date"] if any(each.best_before and each.best_before < today for each in packs) else []


def reserve_locked(packs: Iterable[Pack], batch: Batch) -> None:
    """Set packs apart for a batch."""
    Pack.objects.filter(pk__in=[each.pk for each in packs]).update(batch=batch, version=F("version") + 1)


def free_locked(batch: Batch) -> None:
    """Give back the packs of a batch that will not be mixed."""
    Pack.objects.filter(batch=batch, state=PackState.SEALED).update(batch=None, version=F("version") + 1)


def open_locked(packs: Iterable[Pack], batch: Batch) -> None:
    """Open packs, once and whole, for the batch made of them."""
    for each in packs:
        if each.state != PackState.SEALED:
            raise Clash("pack.not_sealed", f"Pack {each.code} was {each.state}. Name a sealed one.", state=each.state)
    rows = Pack.objects.filter(pk__in=[each.pk for each in packs])
    rows.update(batch=batch, state=PackState.OPENED, version=F("version") + 1)
