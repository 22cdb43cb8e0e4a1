"""The starter set: published generic formulas, copied into a darkroom and brought up to date there."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from accounts.acts import Act
from accounts.commands.entry import Work, command
from chemistry.models import Formula, FormulaVersion, VersionState
from chemistry.science.reading import as_data, read_rules
from darkroom_service.refusal import Malformed

SET = Path(__file__).resolve().parent.parent / "data" / "formulas.json"


@dataclass(frozen=True)
class Starter:
    """One formula of the set: its code, name, rules as stored, and the source of each figure."""

    code: str
    name: str
    rules: dict[str, Any]
    sources: dict[str, str]


@cache
def starters() -> dict[str, Starter]:
    """Return the set by code."""
    found = json.loads(SET.read_text(encoding="utf-8"))
    return {
        each["code"]: Starter(each["code"], each["name"], as_data(read_rules(each["rules"])), each["sources"])
        for each in found
    }


@command(Act.FORMULA_PUBLISH)
def copy_starter(work: Work, codes: Sequence[str]) -> list[FormulaVersion]:
    """Copy starters into the darkroom, or add a version where the set has changed since; no change writes nothing.

    Where people here have published figures of their own since, the new ones come as a draft for them to look at.
    """
    known = starters()
    for place, code in enumerate(codes):
        if code not in known:
            words = f"No starter formula has that code. There are {', '.join(known)}."
            raise Malformed("formula.unknown", words, pointer=f"/codes/{place}", codes=list(known))
    return [_copy(work, known[code]) for code in dict.fromkeys(codes)]


def _copy(work: Work, starter: Starter) -> FormulaVersion:
    formula, _ = Formula.objects.get_or_create(
        darkroom=work.darkroom, code=starter.code, defaults={"name": starter.name}
    )
    versions = list(formula.versions.select_related("entry").order_by("number"))
    for each in versions:
        if (each.rules_data, each.sources) == (starter.rules, starter.sources):
            return each
    fresh = FormulaVersion(
        formula=formula, number=len(versions) + 1, rules_data=starter.rules, sources=starter.sources,
        drafted_by=work.by, entry_id=work.entry_id,
    )  # fmt: skip
    if not any(_own(each) for each in versions):
        fresh.state = VersionState.PUBLISHED
        fresh.published_by, fresh.published_at = work.by, work.recorded_at
    fresh.save()
    if versions:
        formula.version += 1
        formula.save(update_fields=["version"])
    return fresh


def _own(version: FormulaVersion) -> bool:
    """Tell whether people here wrote it: only a copy of the set begins its life by being published."""
    return version.entry.act != Act.FORMULA_PUBLISH
