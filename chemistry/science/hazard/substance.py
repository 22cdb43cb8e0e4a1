"""What is known of one substance, each figure with its origin."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import TypeVar

from chemistry.science.hazard.category import Category, Endpoint
from chemistry.science.hazard.origin import Origin


@dataclass(frozen=True)
class Hazard:
    """One class of a substance; ``own`` when its suppliers declare it and no law lists it."""

    category: Category
    statement: str
    origin: Origin
    own: bool = False


@dataclass(frozen=True)
class Band:
    """A specific limit: from ``start`` % w/w, up to below ``end`` where a worse class begins, this category."""

    category: Category
    statement: str
    start: Fraction
    end: Fraction | None
    origin: Origin


_Row = TypeVar("_Row", Hazard, Band)


@dataclass(frozen=True)
class Toxicity:
    """Acute toxicity by one route: a category, an estimate (mg/kg or mg/l), or both.

    ``minimum``: the law's category is the mildest possible and a worse own value prevails. ``harmonised``: the law
    gives the estimate itself.
    """

    endpoint: Endpoint
    category: int | None
    ate: Fraction | None
    origin: Origin
    minimum: bool = False
    harmonised: bool = False


@dataclass(frozen=True)
class Gas:
    """The gas acid sets free: ``moles`` per mole, and the specific limit in % w/w where the law has one."""

    name: str
    moles: Fraction
    start: Fraction | None
    origin: Origin


@dataclass(frozen=True)
class Flag:
    """A doubt a person should know of, in one sentence, with its origin."""

    words: str
    origin: Origin


@dataclass(frozen=True)
class Aquatic:
    """One ecotoxicity figure in mg/l, such as 'Daphnia 48 h EC50'."""

    test: str
    mg_per_l: Decimal
    origin: Origin


@dataclass(frozen=True)
class Exposure:
    """A workplace limit: ``kind`` is mean, short or ceiling over ``minutes`` (0: at any moment)."""

    body: str
    kind: str
    value: Decimal
    unit: str
    minutes: int
    origin: Origin
    fraction: str = ""


@dataclass(frozen=True)
class Agent:
    """What limits in air are set for; ``counted_share`` is the part of the weight that counts: selenium of selenite."""

    name: str
    cas: str
    limits: tuple[Exposure, ...]
    molar_mass: Decimal | None = None
    counted_share: Decimal = Decimal(1)


@dataclass(frozen=True, eq=False)
class Substance:
    """One row of the table. ``no_data`` names endpoints nobody can speak for; they never read as harmless.

    ``extreme_ph_from`` is the % w/w from which it may push a solution to pH 2 or 11.5. ``non_additive`` marks acids,
    bases and others whose skin and eye effect is not summed. ``origins`` are those of the plain cells.
    """

    cas: str
    name: str
    molar_mass: Fraction | None = None
    formula: str = ""
    formula_holds: int = 1
    ec: str = ""
    index: str = ""
    hydrate_of: str = ""
    waters: int = 0
    hazards: tuple[Hazard, ...] = ()
    bands: tuple[Band, ...] = ()
    toxicity: tuple[Toxicity, ...] = ()
    m_acute: Fraction | None = None
    m_chronic: Fraction | None = None
    no_data: frozenset[Endpoint] = frozenset()
    summed_as: str = ""
    gas: Gas | None = None
    extreme_ph_from: Fraction | None = None
    non_additive: bool = False
    own_ph: Decimal | None = None
    volatile: bool = False
    breathed_data: bool = False
    supplements: tuple[str, ...] = ()
    aquatic: tuple[Aquatic, ...] = ()
    flags: tuple[Flag, ...] = ()
    origins: Mapping[str, Origin] = field(default_factory=dict)

    @cached_property
    def hazard_at(self) -> Mapping[Endpoint, tuple[Hazard, ...]]:
        """Return the classes by endpoint, the worst first."""
        return _grouped(self.hazards)

    @cached_property
    def bands_at(self) -> Mapping[Endpoint, tuple[Band, ...]]:
        """Return the specific limits by endpoint, the worst category first."""
        return _grouped(self.bands)

    @cached_property
    def toxic_by(self) -> Mapping[Endpoint, Toxicity]:
        """Return acute toxicity by route."""
        return {each.endpoint: each for each in self.toxicity}

    def worst(self, endpoint: Endpoint) -> Hazard | None:
        """Return the worst class of an endpoint, None when it has none there."""
        found = self.hazard_at.get(endpoint, ())
        return found[0] if found else None


def _grouped(rows: tuple[_Row, ...]) -> dict[Endpoint, tuple[_Row, ...]]:
    ordered = sorted(rows, key=lambda each: each.category.rank)
    return {
        each.category.endpoint: tuple(row for row in ordered if row.category.endpoint is each.category.endpoint)
        for each in ordered
    }
