"""What is on record about several formulas, gathered in a fixed number of queries, to be set side by side."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from accounts.commands import scope
from accounts.models import Darkroom
from chemistry.commands.formula import published_of
from chemistry.commands.hazards import at_strength, substances_of
from chemistry.models import Formula, FormulaVersion, Pack
from chemistry.science.comparison import Bought, Figure, Subject, figures
from chemistry.science.formula import Form
from chemistry.science.hazard.assess import recipe_of, strengths
from chemistry.science.hazard.table import Table
from darkroom_service.localday import day_of
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Malformed
from waste.models import DrainRule, Stream
from waste.science.stream import sort_of

FEWEST, MOST = 2, 6
Drain = tuple[str | None, str, str]


@dataclass(frozen=True)
class Compared:
    """One formula, the version that is worked by, and its figures."""

    formula: Formula
    version: FormulaVersion
    figures: tuple[Figure, ...]


def compared(darkroom: Darkroom, wanted: Sequence[UUID], at: datetime) -> list[Compared]:
    """Return formulas with their figures, in the order asked; refuse what is no comparison."""
    if not FEWEST <= len(wanted) <= MOST:
        words = f"Set {FEWEST} to {MOST} formulas side by side: ?formula=ID&formula=ID."
        raise Malformed("comparison.size", words, pointer="/formula", fewest=FEWEST, most=MOST)
    if len(set(wanted)) < len(wanted):
        raise Malformed("formula.twice", "A formula is named twice. Name each once.", pointer="/formula")
    rows = Formula.objects.filter(darkroom=darkroom).with_published()
    found = scope.all_named(rows, wanted, pointer="/formula", noun="formula")
    return _figured(darkroom, [(row, _current(row)) for row in found], at)


def _current(row: Formula) -> FormulaVersion:
    versions: list[FormulaVersion] = row.published  # type: ignore[attr-defined]
    return published_of(row, versions[-1] if versions else None)


def _figured(darkroom: Darkroom, pairs: Sequence[tuple[Formula, FormulaVersion]], at: datetime) -> list[Compared]:
    packs: dict[int, list[Bought]] = defaultdict(list)
    rows = Pack.objects.filter(darkroom=darkroom, formula_version__formula__in=[row for row, _ in pairs])
    for formula, makes, minor, received, best in rows.order_by("received_at", "pk").values_list(
        "formula_version__formula_id", "makes", "price_minor", "received_at", "best_before"
    ):
        packs[formula].append(Bought(millilitres(makes), minor, day_of(received, darkroom.zone), best))
    substances, streams = substances_of(darkroom), list(Stream.objects.filter(darkroom=darkroom))
    rule = DrainRule.objects.on(darkroom, day_of(at, darkroom.zone))
    return [
        Compared(row, version, figures(_subject(darkroom, version, packs[row.pk], substances, (streams, rule))))
        for row, version in pairs
    ]


def _subject(
    darkroom: Darkroom, version: FormulaVersion, packs: Sequence[Bought], substances: Table,
    waste: tuple[Sequence[Stream], DrainRule | None],
) -> Subject:  # fmt: skip
    rules = version.rules
    forms = strengths(recipe_of(rules), rules.dilutions)
    hazards = tuple(at_strength(version, each, substances=substances) for each in forms)
    guarded = hazards[1 if rules.form is Form.POWDER else 0].protections
    sort, (streams, rule) = sort_of(rules.kind, rules.process), waste
    here = [each.code for each in streams if each.sort == sort]
    return Subject(
        rules, version.sources, darkroom.currency, tuple(packs), hazards, guarded, sort, bool(here), drain(rule, here)
    )


def drain(rule: DrainRule | None, streams: Sequence[str]) -> Drain:
    """Return what the rule says of these streams (value, trail, what is missing); whether a bath keeps it shows later.

    A rule names what may go down at all. Its limits are judged by what a bath holds when it is released, not here.
    """
    if rule is None:
        return None, "", "No drain rule is recorded."
    trail = f"drain rule {rule.number}, {rule.reference}, approved by {rule.approved_by}"
    if not set(streams) & set(rule.streams):
        return "not allowed: the rule does not name its stream", trail, ""
    limits = ", ".join(f"{each['name']} {each['mg_per_l']} mg/L" for each in rule.limits)
    words = (
        f"allowed within {millilitres(rule.daily_volume):.0f} mL a day, pH {rule.ph_low} to {rule.ph_high}, at least"
        f" {rule.dilution} times the volume" + (f", {limits} at most" if limits else "")
    )
    return words, trail, "Whether a used bath keeps these limits is judged when it is released."
