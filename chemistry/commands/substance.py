"""What a darkroom says of a substance instead of the table that ships: never without a source, never silently."""

from collections.abc import Mapping
from typing import Any

from accounts.acts import Act
from accounts.commands.entry import Work, command
from chemistry.models import SubstanceOverride
from chemistry.science.hazard.reading import TableFault
from chemistry.science.hazard.table import override as overridden
from chemistry.science.hazard.table import standard
from darkroom_service.refusal import Clash, Malformed

MOST_OWN = 200


@command(Act.SUBSTANCE_OVERRIDE)
def override(work: Work, cas: str, *, cells: Mapping[str, Any], source: str, reason: str) -> SubstanceOverride:
    """Let these cells stand in place of the table's from now on; the version before them counts no more."""
    _judge(cas, cells, source)
    latest = _latest(work, cas)
    _judge_room(work, latest)
    return _written(work, cas, latest, cells=dict(cells), source=source, reason=reason)


@command(Act.SUBSTANCE_OVERRIDE)
def withdraw(work: Work, row: SubstanceOverride, *, reason: str) -> SubstanceOverride:
    """Let the table that ships count again; the override stays on record."""
    latest = _latest(work, row.cas)
    if latest is None or latest.withdrawn:
        words = f"What this darkroom said of {row.cas} was withdrawn before; the table that ships counts."
        raise Clash("override.withdrawn", words)
    if latest.pk != row.pk:
        words = f"Version {latest.number} has taken the place of this one. Withdraw that, or write a new one."
        raise Clash("override.replaced", words, id=str(latest.public_id), number=latest.number)
    return _written(work, row.cas, latest, cells={}, source=row.source, reason=reason, withdrawn=True)


def _latest(work: Work, cas: str) -> SubstanceOverride | None:
    return SubstanceOverride.objects.filter(darkroom=work.darkroom, cas=cas).order_by("-number").first()


def _judge(cas: str, cells: Mapping[str, Any], source: str) -> None:
    """Try the cells on the table: what cannot be read there is no override."""
    if not cells:
        words = "Say at least one thing of the substance, or withdraw the override that stands."
        raise Malformed("override.empty", words, pointer="/cells")
    try:
        overridden(standard(), [{**cells, "cas": cas, "source": source}])
    except TableFault as fault:
        pointer = "/source" if fault.code == "override.without_source" else "/cells"
        raise Malformed(fault.code, str(fault), pointer=pointer) from None


def _judge_room(work: Work, latest: SubstanceOverride | None) -> None:
    """Every page reads them all, so there are only so many."""
    if latest is not None and not latest.withdrawn:
        return
    standing = SubstanceOverride.objects.filter(darkroom=work.darkroom).current().count()
    if standing >= MOST_OWN:
        words = f"A darkroom changes at most {MOST_OWN} substances; withdraw one that is used no more."
        raise Clash("override.too_many", words, most=MOST_OWN)


def _written(work: Work, cas: str, latest: SubstanceOverride | None, **told: Any) -> SubstanceOverride:
    return SubstanceOverride.objects.create(
        darkroom=work.darkroom, cas=cas, number=latest.number + 1 if latest else 1, by=work.by, entry_id=work.entry_id,
        occurred_at=work.occurred_at, **told,
    )  # fmt: skip
