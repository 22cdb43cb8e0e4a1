"""Do the running totals, balances and costs follow from the ledger rows, and was nobody's training passed over?"""

from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from accounts.models import SignOff
from chemistry.commands import proofentry, prooftotal, standing
from chemistry.commands.batch import DOUBTFUL
from chemistry.models import Batch, FormulaVersion, Origin, Vessel

QUESTIONS = (*prooftotal.QUESTIONS, *proofentry.QUESTIONS)


def differences(darkroom_id: int | None = None) -> Iterator[str]:
    """Yield a line for every total, balance, cost or mixing that the rows beneath it do not bear out."""
    for question in QUESTIONS:
        yield from question.failing(darkroom_id)
    yield from _unsigned(darkroom_id)
    yield from _outdated(darkroom_id)


def _outdated(darkroom_id: int | None) -> Iterator[str]:
    """Yield the vessels whose date or limit of load, which notices go by, is not what their history says."""
    rows = Vessel.objects.with_contents().select_related("darkroom").filter(contents__gt=0).order_by("pk")
    for vessel in (rows if darkroom_id is None else rows.filter(darkroom=darkroom_id)).iterator(chunk_size=500):
        zone, rules = vessel.darkroom.zone, standing.rules_of(vessel)
        promise = standing.promise_of(vessel, rules, zone)
        if vessel.use_by != promise.day:
            yield f"vessel {vessel.code}: says it is good until {vessel.use_by}, its history says {promise.day}"
        if vessel.load_limit != (limit := standing.load_limit(vessel)):
            yield f"vessel {vessel.code}: says it can do {vessel.load_limit} load, its formula says {limit}"


def _unsigned(darkroom_id: int | None) -> Iterator[str]:
    """Yield the batches mixed by somebody without the sign-offs their formula asks for, and not flagged for it."""
    mixed = Batch.objects.filter(origin=Origin.MIXED, mixing_started_at__isnull=False).order_by("pk")
    batches = list(mixed if darkroom_id is None else mixed.filter(darkroom=darkroom_id))
    versions = FormulaVersion.objects.in_bulk({batch.formula_version_id for batch in batches})
    held = _held({batch.mixed_by_id for batch in batches})
    for batch in batches:
        for topic in versions[batch.formula_version_id].rules_data["required_topics"]:
            spans = held[batch.mixed_by_id, topic]
            stood = any(begun <= (batch.mixing_started_at or begun) < over for begun, over in spans)
            if not stood and not DOUBTFUL & set(batch.flags):
                yield f"batch {batch.code}: was mixed without a sign-off in {topic}"


def _held(people: set[int | None]) -> dict[tuple[int | None, str], list[tuple[datetime, datetime]]]:
    """Return from when until when people were signed off, by person and topic."""
    held: dict[tuple[int | None, str], list[tuple[datetime, datetime]]] = defaultdict(list)
    rows: Any = SignOff.objects.with_end().filter(trainee__in=people - {None})
    for person, topic, begun, *ends in rows.values_list(
        "trainee", "topic__code", "valid_from", "expires_at", "revocation__at", "stale_from"
    ):
        held[person, topic].append((begun, min(filter(None, ends))))
    return held
