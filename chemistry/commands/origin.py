"""Where a pour of spent liquid came from, as figures and codes that stay true whatever happens to the rows above."""

from decimal import Decimal
from typing import Any

from chemistry.commands import hazards
from chemistry.models import Batch
from chemistry.science.dilution import parse
from chemistry.science.formula import Kind, Material, Rules
from chemistry.science.hazard.table import Table
from chemistry.science.load import text as load_words
from chemistry.science.silver import dissolved
from darkroom_service.quantity import cm2, millilitres
from waste.science.stream import sort_of

SILVERED = frozenset({Kind.FIXER, Kind.BLEACH_FIX})


def snapshot(
    batch: Batch | None, *, wrote: str, volume: int, dilution: str = "", load: int = 0, area: int = 0,
    film_or_paper: str = "", substances: Table | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Return the origin of a pour: what wrote it, batch, formula, strength, load, area, and silver where a bath has it.

    ``volume`` in 0.1 mL, ``load`` in 1/3600 roll unit and ``area`` in 0.001 cm² are those of the liquid poured.
    ``dilution`` is its strength, the batch's own unless told. With ``substances``, as the darkroom has them, the hazard
    statements at that strength are kept too. No batch is a liquid nobody recorded.
    """
    if batch is None:
        return {"kind": wrote, "text": f"{millilitres(volume)} mL of a liquid nobody recorded", "stream": None}
    strength = dilution or batch.dilution
    told = {
        "kind": wrote,
        "text": f"{batch.formula_version.formula.name} {strength}, batch {batch.code}",
        **_named(batch, strength),
        "load_units": load,
        "load": load_words(load),
        "area_cm2": str(cm2(area)),
    }
    if batch.formula_version.rules.kind in SILVERED and area > 0:
        told["silver_mg"] = _silver(area, film_or_paper)
    if substances is not None:
        found = hazards.at_strength(batch.formula_version, strength, substances=substances)
        told["statements"] = [code for code, _ in found.statements]
    return told


def sort_of_rules(rules: Rules) -> str | None:
    """Return the kind of waste that the spent liquid of a formula is, or None where nobody can tell."""
    return sort_of(rules.kind, rules.process, frozenset(each.cas for each in rules.composition))


def _named(batch: Batch, dilution: str) -> dict[str, Any]:
    version = batch.formula_version
    rules = version.rules
    return {
        "stream": sort_of_rules(rules),
        "batch": batch.code,
        "formula": version.formula.code,
        "formula_name": version.formula.name,
        "formula_version": version.number,
        "formula_kind": rules.kind.value,
        "process": rules.process.value,
        "dilution": dilution,
        "g_per_l": _strength(rules, dilution),
    }


def _strength(rules: Rules, dilution: str) -> dict[str, str]:
    """Return CAS -> g/L at the strength poured, as mixed: what the bath has done since is not in it."""
    share = parse(dilution).stock_share
    return {each.cas: _plain(each.g_per_l * share.numerator / share.denominator) for each in rules.composition}


def _plain(g_per_l: Decimal) -> str:
    return f"{g_per_l.quantize(Decimal('0.001')).normalize():f}"


def _silver(area: int, film_or_paper: str) -> dict[str, Any]:
    material = Material(film_or_paper or Material.FILM)
    found = dissolved(cm2(area), material)
    return {
        "low": str(found.low_mg),
        "nominal": str(found.nominal_mg),
        "high": str(found.high_mg),
        "computed": True,
        "basis": f"coated area of {material}, silver per area from memory, 70 % of it dissolved",
    }
