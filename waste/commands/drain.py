"""Liquid down the drain: before the act a plan, refused without a rule that allows it; after it a report, flagged."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Sum

from accounts.acts import Act, Role
from accounts.commands import notice, scope
from accounts.commands.entry import Work, command
from darkroom_service.localday import day_of
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Malformed, Unworkable
from waste.commands.collecting import EMPTIED, give_back_locked
from waste.commands.container import next_open
from waste.commands.drainrule import allowed
from waste.commands.reversal import judge_asker
from waste.commands.stream import listed
from waste.models import DrainRelease, DrainRule, Stream
from waste.science import drain as rules

MANUAL = "manual"


@dataclass(frozen=True)
class Letting:
    """What is let down the drain, volumes in 0.1 mL. ``effects`` is what the caller computed of it, as it is kept."""

    volume: int
    water: int = 0
    ph: Decimal | None = None
    happened: bool = True
    effects: Sequence[Mapping[str, Any]] = field(default=())


@command(Act.DRAIN_RELEASE)
def release(
    work: Work, /, *, stream: UUID, text: str, figures: Sequence[Mapping[str, Any]] = (), **given: Any
) -> DrainRelease:
    """Let a liquid down that stands in no vessel; ``given`` is what ``Letting`` takes, ``figures`` are measured."""
    rows = Stream.objects.filter(darkroom=work.darkroom)
    kept = scope.named(rows, stream, pointer="/stream", noun="stream")
    origin: dict[str, Any] = {"kind": MANUAL, "stream": kept.sort, "text": text}
    origin |= measured(figures)
    return release_locked(work, kept, origin, Letting(**given))


def measured(figures: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return what was measured as a snapshot keeps it: mg/L by CAS number, as text."""
    return {"mg_per_l": {each["cas"]: f"{each['mg_per_l']:f}" for each in figures}} if figures else {}


@command(Act.DRAIN_REVERSE)
def reverse(work: Work, row: DrainRelease, *, reason: str) -> DrainRelease:
    """Take back a release written down by hand: its author at any time, else a technician or an instructor."""
    judge_asker(work, row.entry)
    if row.origin["kind"] not in {MANUAL, EMPTIED} and row.reverses_id is None:
        words = "This release is part of something else. Take that back, and the release goes with it."
        raise Clash("drain.dependent", words, origin=row.origin["kind"])
    back = reverse_locked(work, row, reason=reason)
    if row.origin["kind"] == EMPTIED:
        give_back_locked(work, reason, release=row)
    return back


def release_locked(work: Work, stream: Stream | None, origin: Mapping[str, Any], letting: Letting) -> DrainRelease:
    """Let liquid down within another command: refused as a plan, or written and flagged as a report."""
    if letting.volume <= 0 or letting.water < 0:
        raise Malformed("volume.too_small", "The smallest volume that is written down is 0.1 mL.", pointer="/volume")
    day = day_of(work.occurred_at, work.darkroom.zone)
    rule = DrainRule.objects.on(work.darkroom, day)
    gone = DrainRelease.objects.filter(darkroom=work.darkroom, day=day).aggregate(sum=Sum("volume"))["sum"] or 0
    told = rules.Released(
        stream.code if stream else None, letting.volume, letting.water, letting.ph,
        rules.figures(origin, letting.volume), gone, complete="g_per_l" in origin,
    )  # fmt: skip
    outcome = rules.judge(allowed(rule) if rule else None, told)
    if not letting.happened and not outcome.allowed:
        raise _refusal(work, stream, rule, outcome, told)
    row = DrainRelease.objects.create(
        darkroom=work.darkroom, rule=rule, stream=stream, volume=letting.volume, water=letting.water, ph=letting.ph,
        origin=dict(origin), listed=listed(stream, work.occurred_at) if stream else {}, flags=list(outcome.flags),
        computed=_computed(told, outcome, letting), day=day, entry_id=work.entry_id, occurred_at=work.occurred_at,
    )  # fmt: skip
    if outcome.flags:
        _tell(work, row, outcome)
    return row


def reverse_locked(work: Work, row: DrainRelease, *, reason: str = "") -> DrainRelease:
    """Write the negative row of a release."""
    if row.reverses_id is not None or DrainRelease.objects.filter(reverses=row).exists():
        words = "This release is taken back already. If that was wrong, write it down anew."
        raise Clash("drain.reversed", words, id=str(row.public_id))
    origin = row.origin | ({"reason": reason} if reason else {})
    return DrainRelease.objects.create(
        darkroom=work.darkroom, rule_id=row.rule_id, stream_id=row.stream_id, volume=-row.volume, water=-row.water,
        ph=row.ph, origin=origin, listed=row.listed, day=row.day, reverses=row, entry_id=work.entry_id,
        occurred_at=work.occurred_at,
    )  # fmt: skip


def _computed(told: rules.Released, outcome: rules.Outcome, letting: Letting) -> dict[str, Any]:
    """Return the figures of a release as text: against the site's limits, and what the caller computed."""
    limits = [
        {
            "cas": each.limit.cas,
            "name": each.limit.name,
            "limit_mg_per_l": f"{each.limit.mg_per_l:f}",
            "before_mg_per_l": _figure(each.before),
            "after_mg_per_l": _figure(each.after),
            "times_needed": each.fold_needed,
            "over": each.over,
        }
        for each in outcome.compared
    ]
    times = f"{told.fold.quantize(Decimal('0.01')):f}"
    return {"times": times, "limits": limits, "effects": [dict(each) for each in letting.effects]}


def _figure(value: Decimal | None) -> str | None:
    return None if value is None else f"{Decimal(f'{value:.3e}'):f}"


def _refusal(
    work: Work, stream: Stream | None, rule: DrainRule | None, outcome: rules.Outcome, told: rules.Released
) -> Unworkable:
    """Word a refused plan: what the rule says, and where the liquid goes instead."""
    can = next_open(work.darkroom, stream, volume=told.volume) if stream else None
    instead = (
        f"Pour it into {can.name} ({can.code}), which has {millilitres(can.room)} mL of room."
        if can
        else "Keep it in a labelled container of its stream: ask a technician to set one up."
    )
    left = max(rule.daily_volume - told.day_so_far, 0) if rule else 0
    return Unworkable(
        outcome.flags[0],
        f"{_reasons(outcome)} {instead} If it has gone down already, report it as happened.",
        flags=list(outcome.flags),
        rule=str(rule.public_id) if rule else None,
        left_today_ml=f"{millilitres(left)}",
        container=str(can.public_id) if can else None,
        times_needed=max((each.fold_needed or 1 for each in outcome.compared), default=None),
    )


def _reasons(outcome: rules.Outcome) -> str:
    return " ".join([*(rules.REASONS[flag] for flag in outcome.flags), *rules.words(outcome)])


def _tell(work: Work, row: DrainRelease, outcome: rules.Outcome) -> None:
    said = f"{_reasons(outcome)} Ask whether the sewer's keeper must know."
    notice.post_locked(
        work,
        kind="drain-flagged",
        subject=f"drain-release:{row.public_id}",
        text=f"{millilitres(row.volume)} mL went down the drain. {said}",
        path=f"drain-releases/{row.public_id}",
        to_roles=(Role.TECHNICIAN, Role.ADMIN),
        safety=True,
    )
