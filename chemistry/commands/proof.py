"""Do the running totals, balances and costs follow from the ledger rows, and was nobody's training passed over?"""

from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime

from accounts.models import SignOff
from chemistry.commands import proofentry, prooftotal
from chemistry.commands.batch import DOUBTFUL
from chemistry.models import Batch, FormulaVersion, Origin

QUESTIONS = (*prooftotal.QUESTIONS, *proofentry.QUESTIONS)


def differences(darkroom_id: int | None = None) -> Iterator[str]:
    """Yield a line for every total, balance, cost or mixing that the rows beneath it do not bear out."""
    for question in QUESTIONS:
        yield from question.failing(darkroom_id)
    yield from _unsigned(darkroom_id)


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
    rows = SignOff.objects.filter(trainee__in=people - {None}).values_list(
        "trainee", "topic__code", "valid_from", "expires_at", "revocation__at"
    )
    for person, topic, begun, over, revoked in rows:
        held[person, topic].append((begun, min(over, revoked or over)))
    return held
