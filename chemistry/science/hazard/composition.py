"""Compositions as people have them: grams per litre, percent with ranges, parts of a packet."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from chemistry.science.hazard import cas
from chemistry.science.hazard.fault import Fault, Faulty
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.mixture import UNNAMED, Part, Rest
from chemistry.science.hazard.substance import Substance
from chemistry.science.hazard.table import Table

MOST_INGREDIENTS = 50
WHOLE = Fraction(100)


class Basis(StrEnum):
    """What the figures are: grams in a litre of stock, % by weight as received, or grams in the packet."""

    G_PER_L = "g_per_l"
    PERCENT = "percent"
    GRAMS = "grams"


@dataclass(frozen=True)
class Amount:
    """One ingredient by CAS number between two figures of the recipe's basis; a hydrate has a number of its own."""

    cas: str
    low: Decimal
    high: Decimal


@dataclass(frozen=True)
class Recipe:
    """What somebody says is in it.

    ``powder``: received as a powder. ``g_per_l`` is how much powder makes a litre of stock, for percentages;
    ``makes_l`` how many litres the packet makes, for grams. ``density`` is of the stock in kg/l. ``ph`` holds measured
    values as (strength, pH), strength being stock or 1+n. ``rest`` fills percentages up to 100.
    """

    amounts: tuple[Amount, ...]
    basis: Basis
    powder: bool
    g_per_l: Decimal | None = None
    makes_l: Decimal | None = None
    density: Decimal | None = None
    ph: tuple[tuple[str, Decimal], ...] = ()
    ph_shown_mild: tuple[str, ...] = ()
    rest: Rest = Rest.UNKNOWN


@dataclass(frozen=True)
class Weighed:
    """One ingredient found in the table, with the least and the most of it in one unit for the whole recipe."""

    substance: Substance
    low: Fraction
    high: Fraction


def exact(number: str, figure: Decimal) -> Amount:
    """Return an amount without a range."""
    return Amount(number, figure, figure)


def weighed(recipe: Recipe, table: Table) -> tuple[Weighed, ...]:
    """Return the ingredients found in the table, the same one added up, and what is not named; or raise ``Faulty``."""
    faults = [*_size(recipe.amounts), *_share(recipe)]
    for index, amount in enumerate(recipe.amounts):
        faults.extend(_number(amount.cas, index, table))
        faults.extend(_range(amount, index))
    faults.extend(_densities(recipe))
    if faults:
        raise Faulty(faults)
    found: dict[str, Weighed] = {}
    for amount in recipe.amounts:
        substance = table.substances[amount.cas]
        known = found.get(amount.cas, Weighed(substance, Fraction(0), Fraction(0)))
        found[amount.cas] = Weighed(substance, known.low + Fraction(amount.low), known.high + Fraction(amount.high))
    return (*(found[number] for number in sorted(found)), *_unnamed(recipe, found.values()))


def _unnamed(recipe: Recipe, rows: Collection[Weighed]) -> Iterable[Weighed]:
    """Fill percentages up to 100 with what nobody names."""
    if recipe.basis is Basis.PERCENT and recipe.rest is Rest.UNKNOWN:
        lows, highs = (sum(figures, Fraction(0)) for figures in zip(*((e.low, e.high) for e in rows), strict=True))
        if lows < WHOLE:
            yield Weighed(UNNAMED, max(WHOLE - highs, Fraction(0)), WHOLE - lows)


def _size(amounts: Sequence[Amount]) -> Iterable[Fault]:
    if not amounts:
        yield Fault("composition.empty", "Name at least one ingredient.")
    if len(amounts) > MOST_INGREDIENTS:
        yield Fault("composition.long", f"At most {MOST_INGREDIENTS} ingredients are read; {len(amounts)} were given.")


def _number(number: str, index: int, table: Table) -> Iterable[Fault]:
    if table.find(number) is not None:
        return
    digit = cas.check_digit(number)
    if digit is None:
        yield Fault("cas.malformed", f"{number[:40]} is not a CAS number; one looks like 123-31-9.", index)
    elif not cas.is_sound(number):
        yield Fault("cas.check_digit", f"{number} has the wrong check digit: it would end in {digit}.", index)
    else:
        words = f"{number} is not in the substance table; add it for this darkroom with its classes and their source."
        yield Fault("cas.unknown", words, index)


def _range(amount: Amount, index: int) -> Iterable[Fault]:
    finite = amount.low.is_finite() and amount.high.is_finite()
    if not finite or amount.low < 0 or amount.high < 0:
        yield Fault("range.negative", f"{amount.cas}: amounts are numbers from 0 up.", index)
    elif amount.low > amount.high:
        words = f"{amount.cas}: {amount.low} to {amount.high} runs backwards; give the smaller figure first."
        yield Fault("range.reversed", words, index)
    elif amount.high == 0:
        yield Fault("range.nothing", f"{amount.cas}: leave out what is not in it.", index)


def _share(recipe: Recipe) -> Iterable[Fault]:
    if recipe.basis is not Basis.PERCENT:
        return
    for index, each in enumerate(recipe.amounts):
        if each.high.is_finite() and each.high > WHOLE:
            yield Fault("share.over_hundred", f"{each.cas}: {each.high} % is more than 100 %.", index)
    total = sum((each.low for each in recipe.amounts if each.low.is_finite()), Decimal(0))
    if total > WHOLE:
        yield Fault("share.over_hundred", f"The shares add up to at least {total} %, more than 100 %.")


def _densities(recipe: Recipe) -> Iterable[Fault]:
    if recipe.density is not None and not (recipe.density.is_finite() and Decimal("0.5") <= recipe.density <= 3):
        yield Fault("density.implausible", "A density is in kg per litre, from 0.5 to 3.")
    for name, figure in (("g_per_l", recipe.g_per_l), ("makes_l", recipe.makes_l)):
        if figure is not None and not (figure.is_finite() and figure > 0):
            yield Fault("amount.not_positive", f"{name} is a number above 0.")
    for strength, ph in recipe.ph:
        if not (ph.is_finite() and -1 <= ph <= 15):
            yield Fault("ph.implausible", f"The pH at {strength} is a number from -1 to 15.")


def as_percent(rows: Iterable[Weighed]) -> tuple[Part, ...]:
    """Return shares of a mass made of nothing else: 100 x m / sum(m), worst and best over the ranges.

    An ingredient is at its most when the others are at their least. Exact arithmetic; needs a sum above 0.
    """
    found = list(rows)
    lows, highs = sum(each.low for each in found), sum(each.high for each in found)
    return tuple(
        Part(
            each.substance,
            _portion(each.low, each.low + highs - each.high),
            _portion(each.high, each.high + lows - each.low),
        )
        for each in found
    )


def _portion(mass: Fraction, of_all: Fraction) -> Fraction:
    return WHOLE * mass / of_all if of_all else Fraction(0)


def in_liquid(rows: Iterable[Weighed], density: Fraction) -> tuple[Part, ...]:
    """Return % w/w of a liquid from grams per litre: 100 c / (1000 x density), density in kg/l; at most 100 %."""
    parts = tuple(Part(each.substance, each.low / (10 * density), each.high / (10 * density)) for each in rows)
    total = sum((each.low for each in parts), Fraction(0))
    if total > WHOLE:
        kilograms = shown(total * density / 100, 2)
        words = f"A litre would hold {kilograms} kg of solids at a density of {shown(density)} kg/l: give its density."
        raise Faulty([Fault("share.over_hundred", words)])
    return parts


def anhydrous(grams: Fraction, hydrate: Substance, table: Table) -> tuple[Substance, Fraction]:
    """Return the substance without its water and its grams: grams x M(anhydrous) / M(hydrate).

    A substance that is no hydrate comes back as it is. Source: molar masses. Borax decahydrate x 0.528.
    """
    bare = table.find(hydrate.hydrate_of)
    if bare is None or bare.molar_mass is None or hydrate.molar_mass is None:
        return hydrate, grams
    return bare, grams * bare.molar_mass / hydrate.molar_mass
