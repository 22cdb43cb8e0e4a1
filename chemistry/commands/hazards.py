"""The hazards of what stands in this darkroom, with what the darkroom itself says of its substances."""

import json
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from accounts.models import Darkroom
from chemistry.models import FormulaVersion, SubstanceOverride
from chemistry.science.caution import Caution, handling
from chemistry.science.formula import Form
from chemistry.science.hazard import summary
from chemistry.science.hazard.classify import CALCULATED
from chemistry.science.hazard.summary import Summary
from chemistry.science.hazard.table import Table, override, standard

Row = tuple[str, str, str]  # CAS number, source, cells as JSON


def substances_of(darkroom: Darkroom) -> Table:
    """Return the substance table as this darkroom uses it: one query; the table itself is kept."""
    rows = SubstanceOverride.objects.filter(darkroom=darkroom).current().order_by("cas")
    return table_of(tuple((each.cas, each.source, json.dumps(each.cells, sort_keys=True)) for each in rows))


@lru_cache(maxsize=256)
def table_of(rows: tuple[Row, ...]) -> Table:
    """Return the standard table with these overrides; the same rows give the same table, so answers are kept too."""
    if not rows:
        return standard()
    return override(standard(), [{**json.loads(cells), "cas": cas, "source": source} for cas, source, cells in rows])


def at_strength(version: FormulaVersion, form: str, *, substances: Table) -> Summary:
    """Return the hazard of a formula at ``powder``, ``stock`` or ``1+n``; it always answers, if only "not known".

    ``substances`` is what ``substances_of`` returned, once for a whole page. Answers are kept, so that a list of two
    hundred vessels is cheap.
    """
    return summary.of_rules(version.rules, form, substances)


def liquids(found: Iterable[tuple[FormulaVersion, str]], substances: Table) -> list[dict[str, Any]]:
    """Return in short, as plain JSON and each once, the hazards of what somebody is about to touch."""
    once = {(version.pk, form): (version, form) for version, form in found}
    return [
        brief(version.formula.code, at_strength(version, form, substances=substances))
        for version, form in once.values()
    ]


def brief(code: str, found: Summary) -> dict[str, Any]:
    """Return a summary as plain JSON; ``code`` is the formula's."""
    return {
        "formula": code,
        "form": found.form,
        "signal": found.signal,
        "pictograms": list(found.pictograms),
        "statements": coded(found.statements),
        "supplements": coded(found.supplementary),
        "worn": list(found.ppe),
        "unknowns": list(found.unknowns),
        "summary": found.words,
        "overrides": [dict(vars(each)) for each in found.overrides],
        "prevails": CALCULATED,
    }


def coded(pairs: Iterable[tuple[str, str]]) -> list[dict[str, str]]:
    """Return statements by code and in words."""
    return [{"code": code, "words": words} for code, words in pairs]


def floor(versions: Iterable[FormulaVersion], form: Form = Form.LIQUID) -> list[dict[str, str]]:
    """Return what is said whatever the strength, each line once and last what prevails over it."""
    found: list[Caution] = [each for version in versions for each in handling(version.rules, form)]
    last = found[-1:]
    return cautioned([*dict.fromkeys(each for each in found if each not in last), *last])


def cautioned(found: Iterable[Caution]) -> list[dict[str, str]]:
    """Return the floor of words as plain JSON."""
    return [{"hazard": each.hazard, "precaution": each.precaution, "ask": each.ask} for each in found]
