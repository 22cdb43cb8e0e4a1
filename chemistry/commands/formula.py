"""Formulas of a darkroom's own: drafted, changed while a draft, published for ever."""

from collections.abc import Callable, Mapping
from typing import Any
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import scope
from accounts.commands.entry import Work, command
from accounts.models import Membership, Topic
from chemistry.models import Formula, FormulaVersion, VersionState
from chemistry.science.reading import RuleFault, as_data, read_rules
from darkroom_service.refusal import Clash, Malformed, NotAllowed


@command(Act.FORMULA_DRAFT)
def draft(work: Work, *, code: str, name: str, rules: Mapping[str, Any], sources: Mapping[str, str]) -> FormulaVersion:
    """Begin a formula as a draft."""
    figures = sound(work, rules, sources)
    formula, is_new = Formula.objects.get_or_create(darkroom=work.darkroom, code=code, defaults={"name": name})
    if not is_new:
        words = "A formula of this code exists. Choose another code, or draft a new version of that formula."
        raise Clash("formula.code_taken", words, id=str(formula.public_id))
    return _begin(work, formula, 1, figures, sources)


@command(Act.FORMULA_DRAFT)
def draft_version(
    work: Work, formula: Formula, *, rules: Mapping[str, Any], sources: Mapping[str, str]
) -> FormulaVersion:
    """Begin the next version of a formula as a draft; there is one draft at a time."""
    figures = sound(work, rules, sources)
    latest = formula.versions.order_by("-number").first()
    if latest and latest.state == VersionState.DRAFT:
        words = f"Version {latest.number} is still a draft. Change that one, or publish it first."
        raise Clash("formula.draft_open", words, id=str(latest.public_id), number=latest.number)
    return _begin(work, formula, latest.number + 1 if latest else 1, figures, sources)


@command(Act.FORMULA_DRAFT)
def edit(
    work: Work, version: FormulaVersion, changes: Mapping[str, Any], *, unchanged: Callable[[int], None]
) -> FormulaVersion:
    """Change a draft's rules or sources; a published version is never changed."""
    version = _draft(version)
    unchanged(version.version)
    rules, sources = changes.get("rules", version.rules_data), changes.get("sources", version.sources)
    version.rules_data, version.sources = sound(work, rules, sources), dict(sources)
    version.drafted_by = work.by
    version.version += 1
    version.save(update_fields=["rules_data", "sources", "drafted_by", "version"])
    return version


@command(Act.FORMULA_PUBLISH)
def publish(work: Work, version: FormulaVersion) -> FormulaVersion:
    """Publish a draft; where two people may publish, not the one who wrote it last."""
    version = _draft(version)
    if version.drafted_by_id == work.by.pk:
        others = Membership.objects.holding(Role.INSTRUCTOR).filter(darkroom=work.darkroom).exclude(pk=work.by.pk)
        if others.exists():
            words = "You wrote this draft. Another instructor reads it through and publishes it."
            raise NotAllowed("formula.own_draft", words, roles=[Role.INSTRUCTOR.value])
    version.state, version.published_by, version.published_at = VersionState.PUBLISHED, work.by, work.recorded_at
    version.version += 1
    version.save(update_fields=["state", "published_by", "published_at", "version"])
    version.formula.version += 1
    version.formula.save(update_fields=["version"])
    return version


def sound(work: Work, rules: Mapping[str, Any], sources: Mapping[str, str]) -> dict[str, Any]:
    """Return the rules as they are stored; refuse, at its place, what is no rule, no source or no topic here."""
    try:
        figures = as_data(read_rules(rules))
    except RuleFault as fault:
        raise Malformed("formula.unsound", fault.message, pointer=f"/rules{fault.pointer}") from None
    for pointer in sources:
        if not _leads_somewhere(figures, pointer):
            words = f"No figure stands at {pointer}. Name one by its JSON Pointer in the rules, such as /capacity/0."
            raise Malformed("source.unplaced", words, pointer=f"/sources/{_token(pointer)}")
    _judge_topics(work, figures["required_topics"])
    return figures


def _judge_topics(work: Work, codes: list[str]) -> None:
    known = set(Topic.objects.in_use().filter(darkroom=work.darkroom).values_list("code", flat=True))
    for place, code in enumerate(codes):
        if code not in known:
            words = f"Nobody can be signed off for that here. The topics are {', '.join(sorted(known))}."
            raise Malformed("topic.unknown", words, pointer=f"/rules/required_topics/{place}")


def named(work: Work, public_id: UUID) -> FormulaVersion:
    """Return the version to work by of the formula that a request's body names."""
    known = Formula.objects.filter(darkroom=work.darkroom)
    return current(scope.named(known, public_id, pointer="/formula", noun="formula"))


def current(formula: Formula) -> FormulaVersion:
    """Return the formula's newest published version, or refuse to work from a draft."""
    return published_of(formula, formula.versions.filter(state=VersionState.PUBLISHED).order_by("-number").first())


def published_of(formula: Formula, newest: FormulaVersion | None) -> FormulaVersion:
    """Return a formula's newest published version with the formula, or refuse where there is none to work from."""
    if newest:
        newest.formula = formula
        return newest
    words = f"{formula.name} has no published version yet. An instructor publishes its draft first."
    raise Clash("formula.unpublished", words, id=str(formula.public_id))


def _begin(
    work: Work, formula: Formula, number: int, figures: dict[str, Any], sources: Mapping[str, str]
) -> FormulaVersion:
    if number > 1:
        formula.version += 1
        formula.save(update_fields=["version"])
    return FormulaVersion.objects.create(
        formula=formula, number=number, rules_data=figures, sources=dict(sources), drafted_by=work.by,
        entry_id=work.entry_id,
    )  # fmt: skip


def _draft(version: FormulaVersion) -> FormulaVersion:
    """Read the version again under the lock and refuse one that stands."""
    found = FormulaVersion.objects.select_related("formula").get(pk=version.pk)
    if found.state == VersionState.DRAFT:
        return found
    words = f"Version {found.number} is published and stays as it is. Draft a new version with what should change."
    raise Clash("formula.published", words, number=found.number)


def _leads_somewhere(figures: Any, pointer: str) -> bool:
    if pointer and not pointer.startswith("/"):
        return False
    for token in pointer.split("/")[1:]:
        name = token.replace("~1", "/").replace("~0", "~")
        if isinstance(figures, dict) and name in figures:
            figures = figures[name]
        elif isinstance(figures, list) and name.isascii() and name.isdigit() and int(name) < len(figures):
            figures = figures[int(name)]
        else:
            return False
    return True


def _token(pointer: str) -> str:
    return pointer.replace("~", "~0").replace("/", "~1")
