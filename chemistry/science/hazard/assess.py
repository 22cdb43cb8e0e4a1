"""One call for a page: a recipe at one strength, or side by side from powder to the highest dilution."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from chemistry.science import dilution
from chemistry.science.formula import Form, Kind, Rules
from chemistry.science.hazard import label, strength
from chemistry.science.hazard.classify import Classification, classify
from chemistry.science.hazard.composition import Basis, Recipe, exact
from chemistry.science.hazard.label import Label
from chemistry.science.hazard.mixture import Mixture, Policy
from chemistry.science.hazard.protect import Activity, Protection, protection
from chemistry.science.hazard.table import Table, standard


@dataclass(frozen=True)
class Override:
    """An ingredient whose row in the table this darkroom has changed, and by which source."""

    cas: str
    name: str
    source: str


@dataclass(frozen=True)
class Assessment:
    """What is handled, its classes with their trails, its label, and which ingredients the darkroom has changed."""

    strength: str
    mixture: Mixture
    classification: Classification
    label: Label
    overrides: tuple[Override, ...] = ()

    @property
    def codes(self) -> frozenset[str]:
        """Return the H and EUH codes as classified, none left out as the label may."""
        worst = self.classification.worst
        return frozenset([*(each.statement for each in worst.given), *(each.code for each in worst.supplements)])


def recipe_of(rules: Rules, density: Decimal | None = None, ph: Iterable[tuple[str, Decimal]] = ()) -> Recipe:
    """Return a formula's composition as a recipe: grams in a litre of stock, CAS numbers as they stand."""
    amounts = tuple(exact(each.cas, each.g_per_l) for each in rules.composition if each.g_per_l > 0)
    return Recipe(amounts, Basis.G_PER_L, rules.form is Form.POWDER, density=density, ph=tuple(ph))


def assess(recipe: Recipe, at: str, table: Table | None = None, policy: Policy | None = None) -> Assessment:
    """Return the hazard of a recipe at ``powder``, ``stock`` or ``1+n``; ``Faulty`` names what is wrong with it.

    Answers are kept: a page of two hundred vessels holds few different liquids.
    """
    return _assess(recipe, at, table or standard(), policy or Policy())


@lru_cache(maxsize=1024)
def _assess(recipe: Recipe, at: str, table: Table, policy: Policy) -> Assessment:
    mixture = strength.at(recipe, at, table)
    answer = classify(mixture, policy)
    return Assessment(at, mixture, answer, label.of_mixture(answer), _overrides(recipe, mixture, table))


def _overrides(recipe: Recipe, mixture: Mixture, table: Table) -> tuple[Override, ...]:
    """Name every override that had a say: of what was put in, and of what became of it in water."""
    numbers = {each.cas for each in recipe.amounts} | {each.substance.cas for each in mixture.parts}
    changed = sorted(numbers & table.overridden.keys())
    return tuple(Override(each, table.substances[each].name, table.overridden[each]) for each in changed)


def strengths(recipe: Recipe, dilutions: Iterable[str]) -> tuple[str, ...]:
    """Return every strength to set side by side: powder if it is one, stock, then the dilutions from strong to weak."""
    known = {dilution.parse(each) for each in dilutions} - {dilution.parse(dilution.STOCK)}
    first = (strength.POWDER,) if recipe.powder else ()
    return (*first, strength.STOCK, *(str(each) for each in sorted(known)))


def compare(
    recipe: Recipe, dilutions: Iterable[str], table: Table | None = None, policy: Policy | None = None
) -> tuple[Assessment, ...]:
    """Return the assessments of every strength side by side."""
    return tuple(assess(recipe, each, table, policy) for each in strengths(recipe, dilutions))


def protections(
    kind: Kind, *, powder: Assessment | None, stock: Assessment, working: Assessment
) -> tuple[Protection, ...]:
    """Return what each activity needs: powder by the powder, mixing by powder and stock, the rest by what is used."""
    dust = powder.codes if powder else frozenset[str]()
    by_activity = {
        Activity.POWDER: dust,
        Activity.MIXING: dust | stock.codes,
        Activity.USING: working.codes,
        Activity.DISPOSING: working.codes,
    }
    return tuple(
        protection(kind, activity, codes, from_powder=powder is not None)
        for activity, codes in by_activity.items()
        if powder is not None or activity is not Activity.POWDER
    )
