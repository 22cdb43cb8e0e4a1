"""Batches: asked for, approved, released and withdrawn; opened, diluted and blended ones come to be in one act."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.coding import fresh_code
from accounts.commands.entry import Work, command
from chemistry.commands import cost, lapsing, pack, progress, recall, redating, stop
from chemistry.commands import formula as formulas
from chemistry.commands.judgement import insist
from chemistry.models import Batch, BatchState, BathTest, Origin, Pack, Vessel
from chemistry.models.stop import StopKind
from chemistry.science.formula import Form, Rules
from chemistry.science.mixing import judge_packet
from chemistry.science.verdict import Verdict, refused
from darkroom_service.refusal import Clash, NotAllowed, Unworkable

STAFF = (Role.TECHNICIAN, Role.INSTRUCTOR)
# Mixed by somebody who was not entitled, or by nobody knows whom: an instructor decides.
DOUBTFUL = frozenset({"batch.found", "mixer.unsigned", "mixer.lapsed", "mixer.minor"})


@command(Act.BATCH_REQUEST)
def request(
    work: Work, *, formula: UUID, packs: Sequence[UUID], share: Decimal = Decimal(1), mix_on: date | None = None
) -> Batch:
    """Ask for a batch to be mixed from sealed packs, each of them whole; ``mix_on`` is when one means to mix it."""
    version = formulas.named(work, formula)
    insist(judge_request(version.rules, share))
    chosen = pack.sealed_locked(work, version.formula, packs)
    lapses = lapsing.lapsing(work, version.rules.required_topics, mix_on)
    batch = Batch(
        code=fresh_code(work, Batch), darkroom=work.darkroom, formula_version=version, requested_by=work.by,
        wanted=sum(each.makes for each in chosen), cost_minor=sum(each.price_minor for each in chosen),
        flags=[*pack.doubts(work, chosen), *([lapsing.LAPSES] if lapses else [])],
    )  # fmt: skip
    progress.begin(work, batch)
    pack.reserve_locked(chosen, batch)
    words = f"Batch {batch.code} of {version.formula.name} waits for approval."
    _tell(work, batch, "batch-to-approve", words, to_roles=STAFF)
    if lapses:
        lapsing.tell_locked(work, batch, lapses, mix_on)
    return batch


def judge_request(rules: Rules, share: Decimal) -> Verdict:
    """Judge what may be asked of a formula: a powder, and of each packet the whole."""
    if rules.form is not Form.POWDER:
        reason = "This is a liquid as it comes: it is opened and diluted, not mixed."
        return refused("formula.not_mixed", reason, "open the bottle, then dilute from it")
    verdict = judge_packet(share, whole_packet=rules.mixing is None or rules.mixing.whole_packet)
    if not verdict.ok or share == 1:
        return verdict
    reason = "A packet is booked once and whole here, so that nobody meets a half-used one."
    return refused("packet.split", reason, "mix 1 whole packet", "name each packet by its id to mix several")


@command(Act.BATCH_APPROVE)
def approve(work: Work, batch: Batch, *, note: str = "") -> Batch:
    """Approve a request, as somebody else than who asked."""
    batch = progress.fresh(batch)
    progress.judge(work, batch, BatchState.APPROVED)
    words = "You asked for this batch. Another technician or instructor approves it."
    flags = progress.second_person(
        work, work.darkroom.second_person_mixing, batch.requested_by_id, code="approver.requester", words=words
    )
    progress.tidy(batch, flags)
    progress.move(work, batch, BatchState.APPROVED, note=note)
    batch.approved_by = work.by
    batch.save()
    words = f"Batch {batch.code} of {batch.formula_version.formula.name} is approved and may be mixed."
    _tell(work, batch, "batch-approved", words, to=[batch.requested_by])
    return batch


@command(Act.BATCH_APPROVE)
def reject(work: Work, batch: Batch, *, reason: str) -> Batch:
    """Say no to a request, or take an approval back before mixing; its packs are free again."""
    batch = _end(work, batch, BatchState.REJECTED, reason)
    _tell(work, batch, "batch-rejected", f"Batch {batch.code} was rejected.", to=[batch.requested_by])
    return batch


@command(Act.BATCH_CANCEL)
def cancel(work: Work, batch: Batch, *, reason: str = "") -> Batch:
    """Take a request back before mixing; its packs are free again."""
    if not work.by.holds(*STAFF) and batch.requested_by_id != work.by.pk:
        words = "You may cancel a batch you asked for yourself. Ask a technician or an instructor to cancel this one."
        raise NotAllowed("batch.not_own", words, roles=[role.value for role in STAFF])
    return _end(work, batch, BatchState.CANCELLED, reason)


def _end(work: Work, batch: Batch, became: BatchState, reason: str) -> Batch:
    batch = progress.fresh(batch)
    progress.move(work, batch, became, note=reason)
    batch.save()
    pack.free_locked(batch)
    return batch


@command(Act.BATCH_RELEASE)
def release(work: Work, batch: Batch, *, note: str = "") -> Batch:
    """Release a rested batch, as somebody else than who mixed it, once its release test has passed where one is due."""
    batch = progress.fresh(batch)
    progress.judge(work, batch, BatchState.RELEASED)
    progress.tidy(batch, _judge_releaser(work, batch))
    _judge_tests(batch)
    progress.move(work, batch, BatchState.RELEASED, note=note)
    batch.released_by, batch.released_at = work.by, work.occurred_at
    batch.save()
    for vessel in Vessel.objects.with_contents().filter(batch=batch, contents__gt=0):
        vessel.batch = batch
        redating.restate(vessel, work)
    return batch


def _judge_releaser(work: Work, batch: Batch) -> list[str]:
    if DOUBTFUL & set(batch.flags) and not work.by.holds(Role.INSTRUCTOR):
        words = "Whoever mixed this batch was not signed off for it. An instructor decides on it, or it is withdrawn."
        raise NotAllowed("batch.doubtful", words, roles=[Role.INSTRUCTOR.value], flags=batch.flags)
    words = "You mixed this batch. Another technician or instructor releases it."
    mixer = batch.mixed_by_id or batch.requested_by_id
    setting = work.darkroom.second_person_release
    return progress.second_person(work, setting, mixer, code="releaser.mixer", words=words)


def _judge_tests(batch: Batch) -> None:
    """A failed release test is final, whatever came after it; where the formula asks for one, one has passed."""
    tests = BathTest.objects.filter(batch=batch, for_release=True, entry__reversal=None)
    verdicts = set(tests.values_list("passed", flat=True))
    if False in verdicts:
        words = f"Batch {batch.code} failed its release test, which is final. Withdraw it and empty its vessels."
        raise Unworkable("batch.test_failed", words)
    testing = batch.formula_version.rules.testing
    if testing and testing.needed_for_release and True not in verdicts:
        words = f"A {testing.check} test for release comes first. Record it on a vessel of the batch, then release."
        raise Clash("batch.untested", words, check=testing.check.value)


@command(Act.BATCH_WITHDRAW)
def withdraw(work: Work, batch: Batch, *, reason: str) -> Batch:
    """Take a batch out of use for good, with all that was made from it; everybody who used it is told."""
    batch = progress.fresh(batch)
    progress.judge(work, batch, BatchState.WITHDRAWN)
    progress.not_before(work, batch.mixing_started_at, "was begun")
    family = [batch, *recall.made_from(batch)]
    for each in family:
        if each.state != BatchState.WITHDRAWN:
            progress.move(work, each, BatchState.WITHDRAWN, note=reason)
            each.save()
    told = replace(work, occurred_at=work.recorded_at)  # its vessels stand still from now, whenever it was put aside
    for vessel in Vessel.objects.with_contents().filter(batch__in=family, contents__gt=0):
        stop.stop_locked(told, vessel, kind=StopKind.WITHDRAWN, reason=reason)
    words = f"Batch {batch.code} of {batch.formula_version.formula.name} was withdrawn: {reason}"
    users = recall.users(family)
    _tell(work, batch, "recall", f"{words} You used it; look at what you made with it.", to=users, safety=True)
    _tell(work, batch, "batch-withdrawn", words, to_roles=STAFF, safety=True)
    return batch


def opened_locked(work: Work, packed: Pack) -> Batch:
    """Make a batch of a liquid concentrate that was opened: no approval, no rest, no test."""
    if packed.formula_version.rules.form is Form.POWDER:
        reason = "A powder is mixed, not opened into a bottle. Request a batch from it."
        raise Unworkable("pack.powder", reason, pack=str(packed.public_id))
    batch = _in_one_act(work, packed.formula_version_id, Origin.OPENED, BatchState.RELEASED)
    batch.wanted = batch.made = packed.makes
    batch.cost_minor = packed.price_minor
    pack.open_locked([packed], progress.begin(work, batch))
    return batch


def diluted_locked(work: Work, source_batch: Batch, dilution: str, made: int, *, of: int) -> Batch:
    """Make the batch that ``made`` (0.1 mL) of a dilution is, with what ``of`` (0.1 mL) of the source cost."""
    batch = _in_one_act(work, source_batch.formula_version_id, Origin.DILUTED, _inherited([source_batch]))
    batch.dilution, batch.wanted, batch.made = dilution, made, made
    progress.begin(work, batch)
    cost.pass_on_locked(work, source_batch, batch, of)
    return batch


def blended_locked(work: Work, batches: Sequence[Batch]) -> Batch:
    """Make the batch that several poured together are, as old as the oldest of them."""
    first = batches[0]
    batch = _in_one_act(work, first.formula_version_id, Origin.BLENDED, _inherited(batches))
    batch.dilution = first.dilution
    batch.mixed_at = min((each.mixed_at for each in batches if each.mixed_at), default=work.occurred_at)
    return progress.begin(work, batch)


def _in_one_act(work: Work, version_id: int, origin: Origin, state: BatchState) -> Batch:
    at = work.occurred_at
    released = state == BatchState.RELEASED
    return Batch(
        code=fresh_code(work, Batch), darkroom=work.darkroom, formula_version_id=version_id, origin=origin,
        state=state, requested_by=work.by, mixed_by=work.whom, mixing_started_at=at, mixed_at=at,
        released_by=work.by if released else None, released_at=at if released else None,
    )  # fmt: skip


def _inherited(sources: Iterable[Batch]) -> BatchState:
    """What is made of a batch is no better than it: released only if all were, withdrawn if one was."""
    states = {each.state for each in sources}
    if BatchState.WITHDRAWN in states:
        return BatchState.WITHDRAWN
    return BatchState.RELEASED if states == {BatchState.RELEASED} else BatchState.MIXED


def _tell(work: Work, batch: Batch, kind: str, text: str, **whom: Any) -> None:
    notice.post_locked(
        work, kind=kind, subject=f"batch:{batch.public_id}", text=text, path=f"batches/{batch.public_id}", **whom
    )  # fmt: skip
