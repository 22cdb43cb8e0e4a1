"""The hazard of a formula in a few lines, for where somebody is about to touch it; it always answers.

What a formula names and the table does not know counts as not known, never as harmless, and the rest is still judged.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from chemistry.science.formula import Ingredient, Kind, Rules
from chemistry.science.hazard import assess, statement
from chemistry.science.hazard.assess import Assessment, Override
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.classify import CALCULATED
from chemistry.science.hazard.composition import Recipe
from chemistry.science.hazard.fault import Faulty
from chemistry.science.hazard.protect import Activity, Protection, protection
from chemistry.science.hazard.strength import POWDER, STOCK
from chemistry.science.hazard.substance import Substance
from chemistry.science.hazard.table import Table

Coded = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Summary:
    """What a label or a plan shows of one strength; ``statements`` and the like are (code, words), worst case.

    ``ppe`` and ``topics`` are for handling the powder, or for using the liquid; ``protections`` hold every activity.
    ``unknowns`` are what could make it worse; while there are any, no part of this reads as harmless. ``words`` is the
    whole in one sentence; ``overrides`` what the darkroom itself says of an ingredient.
    """

    form: str
    signal: str
    pictograms: tuple[str, ...]
    statements: Coded
    supplementary: Coded
    precautionary: Coded
    classes: tuple[str, ...]
    ppe: tuple[str, ...]
    topics: tuple[str, ...]
    unknowns: tuple[str, ...]
    words: str
    protections: tuple[Protection, ...]
    overrides: tuple[Override, ...]

    @property
    def known(self) -> bool:
        """Say whether nothing is missing."""
        return not self.unknowns


def of_rules(rules: Rules, form: str, table: Table) -> Summary:
    """Return the hazard of a formula at ``powder``, ``stock`` or ``1+n``; what cannot be judged is "not known"."""
    return _of(rules.kind, assess.recipe_of(rules), form, with_unknown(rules.composition, table))


def with_unknown(composition: Iterable[Ingredient], table: Table) -> Table:
    """Return the table with a row without any data for each ingredient it does not have."""
    absent = tuple((each.cas, each.name) for each in composition if table.find(each.cas) is None)
    return _widened(table, absent) if absent else table


@lru_cache(maxsize=256)
def _widened(table: Table, absent: tuple[tuple[str, str], ...]) -> Table:
    rows = {cas: Substance(cas, f"{name} ({cas})", no_data=frozenset(Endpoint)) for cas, name in absent}
    return replace(table, substances={**table.substances, **rows})


@lru_cache(maxsize=1024)
def _of(kind: Kind, recipe: Recipe, form: str, table: Table) -> Summary:
    try:
        found = assess.assess(recipe, form, table)
        protections = guarded(kind, recipe, form, table)
    except Faulty as fault:
        return _not_known(kind, form, str(fault), from_powder=recipe.powder)
    label, answer = found.label, found.classification
    own = _own(protections, form)
    return Summary(
        form=form,
        signal=label.signal,
        pictograms=label.pictograms,
        statements=label.statements,
        supplementary=label.supplements,
        precautionary=label.precautions,
        classes=answer.worst.codes,
        ppe=tuple(each.gear.value for each in own.worn),
        topics=own.topics,
        unknowns=tuple(each.words for each in answer.missing),
        words=answer.summary,
        protections=protections,
        overrides=found.overrides,
    )


def guarded(kind: Kind, recipe: Recipe, form: str, table: Table) -> tuple[Protection, ...]:
    """Return what each activity asks for where this form is what is used; ``Faulty`` names what is wrong.

    Where nobody says how much powder makes a litre, the stock is handled like the powder.
    """
    powder = assess.assess(recipe, POWDER, table) if recipe.powder else None
    stock = _stock(recipe, table, powder)
    working = stock if form == POWDER else assess.assess(recipe, form, table)
    return assess.protections(kind, powder=powder, stock=stock, working=working)


def _stock(recipe: Recipe, table: Table, powder: Assessment | None) -> Assessment:
    try:
        return assess.assess(recipe, STOCK, table)
    except Faulty:
        if powder is None:
            raise
        return powder


def _own(protections: tuple[Protection, ...], form: str) -> Protection:
    wanted = Activity.POWDER if form == POWDER else Activity.USING
    return next(each for each in protections if each.activity is wanted)


def _not_known(kind: Kind, form: str, why: str, *, from_powder: bool) -> Summary:
    """Return the answer where nothing can be computed: the floor, as if every burn and every gas could come of it."""
    feared = frozenset(statement.HAZARD)
    protections = tuple(
        protection(kind, each, feared, from_powder=from_powder)
        for each in Activity
        if from_powder or each is not Activity.POWDER
    )
    own = next((each for each in protections if form != POWDER and each.activity is Activity.USING), protections[0])
    words = f"Not known: {why} Treat it as the worst its supplier's sheet names. {CALCULATED}"
    worn = tuple(each.gear.value for each in own.worn)
    return Summary(form, "", (), (), (), (), (), worn, own.topics, (why,), words, protections, ())
