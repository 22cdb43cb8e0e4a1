"""Mixing: its start, which is a right, its end, which is a report, and a batch somebody found already mixed."""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.coding import fresh_code
from accounts.commands.entry import Work, command
from accounts.commands.scope import named
from accounts.models import Membership, SignOff
from accounts.models.signoff import missing_topics
from chemistry.commands import cost, progress, standing
from chemistry.commands import formula as formulas
from chemistry.commands import pack as packs_of
from chemistry.commands.batch import STAFF
from chemistry.commands.flagtext import worded
from chemistry.commands.ledger import Book
from chemistry.commands.vessel import check_size
from chemistry.commands.vessel import named as vessel_named
from chemistry.models import Batch, BatchState, Pack, PackState, Place, Vessel
from chemistry.science.formula import Form, Rules
from darkroom_service.refusal import Clash, NotAllowed


@command(Act.BATCH_MIX)
def start(work: Work, batch: Batch, *, water_c: Decimal | None = None) -> Batch:
    """Begin to mix an approved batch: the mixer's sign-offs at that time decide; the packs are opened."""
    batch = progress.fresh(batch)
    progress.judge(work, batch, BatchState.MIXING)
    approval = batch.steps.get(became=BatchState.APPROVED)
    progress.not_before(work, approval.occurred_at, "was approved")
    _judge_mixer(work, batch.formula_version.rules)
    packs = list(Pack.objects.filter(batch=batch, state=PackState.SEALED))
    if not packs:
        words = "None of its packs is left. Cancel this batch and request one from a sealed pack."
        raise Clash("batch.without_packs", words)
    packs_of.open_locked(packs, batch)
    progress.move(work, batch, BatchState.MIXING, note=f"water at {water_c} °C" if water_c is not None else "")
    batch.mixed_by, batch.mixing_started_at = work.whom, work.occurred_at
    flags = list(_of_water(batch.formula_version.rules, water_c))
    progress.tidy(batch, flags)
    batch.save()
    if flags:
        _tell_flagged(work, batch, flags)
    return batch


def _judge_mixer(work: Work, rules: Rules) -> None:
    """Refuse a mixer who is a minor, or who was not signed off when the mixing began."""
    if rules.form is Form.POWDER and work.whom.is_minor(work.occurred_at):
        words = "Nobody under age handles powder, whatever they are trained in. An adult who is signed off mixes it."
        raise NotAllowed("mixer.minor", words, roles=[role.value for role in STAFF])
    missing = missing_topics(work.whom, rules.required_topics, work.occurred_at)
    if missing:
        signers = _signers(work, missing)
        names = ", ".join(each.person.name for each in signers) or "an instructor, once one holds it"
        words = (
            f"No sign-off stood at that time for {', '.join(missing)}. Who can sign: {names}."
            " If it was mixed all the same, a technician or an instructor records it as found."
        )
        raise NotAllowed("mixer.unsigned", words, missing=missing, signers=[str(each.public_id) for each in signers])


def _of_water(rules: Rules, water_c: Decimal | None) -> Iterator[str]:
    """Yield what the temperature of the first water breaks."""
    mixing = rules.mixing
    if mixing and water_c is not None and not mixing.start_low_c <= water_c <= mixing.start_high_c:
        yield "batch.water_outside_window"


def _signers(work: Work, missing: Sequence[str]) -> list[Membership]:
    held = SignOff.objects.standing(work.recorded_at).filter(topic__darkroom=work.darkroom, topic__code__in=missing)
    able = Membership.objects.holding(Role.INSTRUCTOR).filter(darkroom=work.darkroom, pk__in=held.values("trainee"))
    return list(able.exclude(pk=work.whom.pk).select_related("person").order_by("pk"))


@command(Act.BATCH_MIX)
def finish(work: Work, batch: Batch, *, vessel: UUID, made: int) -> Batch:
    """Write down that a batch is made up to the mark, ``made`` in 0.1 mL, in a vessel where it rests.

    A report: a sign-off revoked or run out since the start does not undo what was mixed; it is flagged.
    """
    batch = progress.fresh(batch)
    into = vessel_named(work, vessel, pointer="/vessel")
    check_size(into, made, pointer="/made")
    progress.judge(work, batch, BatchState.RESTING)
    progress.not_before(work, batch.mixing_started_at, "was begun")
    flags = ["mixer.lapsed"] if batch.mixed_by and _missing(work, batch, batch.mixed_by) else []
    progress.move(work, batch, BatchState.RESTING)
    _fill(work, batch, into, made, flags)
    return batch


@command(Act.BATCH_FIND)
def find(
    work: Work,
    *,
    formula: UUID,
    vessel: UUID,
    made: int,
    packs: Sequence[UUID] = (),
    mixed_by: UUID | None = None,
    note: str = "",
) -> Batch:
    """Write down a batch that was mixed without approval or sign-off, as far as is known; its release decides."""
    version = formulas.named(work, formula)
    into = vessel_named(work, vessel, pointer="/vessel")
    check_size(into, made, pointer="/made")
    people = Membership.objects.filter(darkroom=work.darkroom)
    mixer = named(people, mixed_by, pointer="/mixed_by", noun="member") if mixed_by else None
    opened = packs_of.used_locked(work, version.formula, packs)
    batch = Batch(
        code=fresh_code(work, Batch), darkroom=work.darkroom, formula_version=version, requested_by=work.by,
        mixed_by=mixer, mixing_started_at=work.occurred_at, state=BatchState.RESTING, flags=["batch.found"],
        wanted=sum(each.makes for each in opened), cost_minor=sum(each.price_minor for each in opened),
    )  # fmt: skip
    progress.begin(work, batch, note=note)
    packs_of.open_locked(opened, batch)
    _fill(work, batch, into, made, [*packs_of.doubts(work, opened), *_doubts(work, batch, mixer)])
    return batch


def _doubts(work: Work, batch: Batch, mixer: Membership | None) -> Iterator[str]:
    """Yield what stood against whoever mixed it."""
    if mixer and _missing(work, batch, mixer):
        yield "mixer.unsigned"
    if mixer and batch.formula_version.rules.form is Form.POWDER and mixer.is_minor(work.occurred_at):
        yield "mixer.minor"


def _missing(work: Work, batch: Batch, mixer: Membership) -> list[str]:
    return missing_topics(mixer, batch.formula_version.rules.required_topics, work.occurred_at)


def _fill(work: Work, batch: Batch, vessel: Vessel, made: int, flags: list[str]) -> None:
    """Put what was made into its vessel, set the rest, and tell who releases it."""
    mixing = batch.formula_version.rules.mixing
    batch.made, batch.mixed_at = made, work.occurred_at
    batch.rest_until = work.occurred_at + timedelta(hours=mixing.rest_hours if mixing else 0)
    if batch.wanted and abs(made - batch.wanted) * 50 > batch.wanted:
        flags.append("batch.off_mark")
    flags += _pour(work, batch, vessel, made)
    progress.tidy(batch, flags)
    batch.save()
    _tell(work, batch, flags)


def _pour(work: Work, batch: Batch, vessel: Vessel, made: int) -> list[str]:
    """Book the new liquid into its vessel. What the record still had there was gone by then: it is unaccounted."""
    book, at = Book(work, work.occurred_at), work.occurred_at
    if book.anchored(vessel):
        book.row(made, Place.MADE, Place.VESSEL, target_vessel=vessel, target_batch=batch, target_basis=made)
        book.row(
            made, Place.VESSEL, Place.UNACCOUNTED, source_vessel=vessel, source_batch=batch, source_basis=made
        )  # fmt: skip
        book.close()
        cost.settle_moved_locked(work, book.movements)
        return ["vessel.refilled"]
    flags = ["vessel.private"] if vessel.owner_id else []
    if vessel.contents:
        flags.append("vessel.not_empty")
        book.leave(vessel, vessel.contents, Place.UNACCOUNTED)
    standing.begin_filling(vessel, batch, at)
    book.make(vessel, made)
    standing.part_full_from(vessel, at)
    standing.refresh(vessel, work)
    book.close()
    cost.settle_moved_locked(work, book.movements)
    return flags if made <= vessel.nominal else [*flags, "vessel.overfull"]


def _tell(work: Work, batch: Batch, flags: Sequence[str]) -> None:
    name = batch.formula_version.formula.name
    rest = f" It rests until {batch.rest_until:%d %b %Y %H:%M} UTC." if batch.rest_until else ""
    found: dict[str, Any] = {"path": f"batches/{batch.public_id}", "subject": f"batch:{batch.public_id}"}
    text = f"Batch {batch.code} of {name} is mixed and waits for release.{rest}"
    notice.post_locked(work, kind="batch-to-release", text=text, to_roles=STAFF, **found)
    if flags:
        _tell_flagged(work, batch, flags)


def _tell_flagged(work: Work, batch: Batch, flags: Sequence[str]) -> None:
    name = batch.formula_version.formula.name
    text = f"Batch {batch.code} of {name}: {' '.join(each['text'] for each in worded(flags))}"
    notice.post_locked(
        work, kind="batch-flagged", subject=f"batch:{batch.public_id}", text=text, to_roles=STAFF, safety=True,
        path=f"batches/{batch.public_id}",
    )  # fmt: skip
