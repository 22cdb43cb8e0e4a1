"""From a recipe to the mixture somebody handles: the powder, the stock, or a dilution 1+n of it."""

from decimal import Decimal
from fractions import Fraction

from chemistry.science import dilution
from chemistry.science.hazard.composition import Basis, Recipe, Weighed, as_percent, in_liquid, weighed
from chemistry.science.hazard.dissolving import dissolve
from chemistry.science.hazard.fault import Fault, Faulty
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.mixture import Mixture, Part, Ph, Rest
from chemistry.science.hazard.table import Table

POWDER, STOCK = "powder", dilution.STOCK
WATER = Fraction(1)
DENSEST = Fraction(8, 5)  # kg/l, denser than any darkroom concentrate; from memory
_NO_DENSITY = "Density not known: taken as 1.00 kg/l, so that no share is too small."
_NO_DENSITY_DILUTED = "Density not known: taken as 1.60 kg/l, so that no share of the dilution is too small."
_NEUTRAL = Decimal(7)


def at(recipe: Recipe, strength: str, table: Table) -> Mixture:
    """Return the mixture in % w/w at ``powder``, ``stock`` or ``1+n``; ``Faulty`` names what stands against it.

    Dilution by volume: w' = w x rho / (rho + n), rho of the stock and 1.00 for water in kg/l, volumes taken to add up.
    """
    rows = weighed(recipe, table)
    if strength == POWDER:
        return _powder(recipe, rows)
    try:
        wanted = dilution.parse(strength)
    except dilution.NotADilution as refused:
        raise Faulty([Fault("strength.malformed", str(refused))]) from refused
    parts_of_water = Fraction(wanted.parts)
    ph = _ph(recipe, str(wanted), parts_of_water)
    if not recipe.powder and recipe.basis is Basis.PERCENT:
        return _percent_diluted(recipe, rows, parts_of_water, ph)
    return _made_up(_per_litre(recipe, rows, strength), recipe, parts_of_water, ph, table)


def _powder(recipe: Recipe, rows: tuple[Weighed, ...]) -> Mixture:
    if not recipe.powder:
        raise Faulty([Fault("powder.none", "This is received as a liquid: ask for stock or a dilution.")])
    if recipe.basis is Basis.PERCENT:
        parts = tuple(Part(each.substance, each.low, each.high) for each in rows)
        return Mixture(parts, solid=True, assumptions=_rest(recipe))
    return Mixture(as_percent(rows), solid=True, assumptions=("The packet holds nothing else.",))


def _rest(recipe: Recipe) -> tuple[str, ...]:
    said = {
        Rest.WATER: "The rest is taken as water.",
        Rest.HARMLESS: "The rest is taken as not classified, as its supplier says.",
        Rest.UNKNOWN: "The rest is not named and is counted as not known.",
    }
    return (said[recipe.rest],)


def _per_litre(recipe: Recipe, rows: tuple[Weighed, ...], strength: str) -> tuple[Weighed, ...]:
    """Return grams per litre of stock whatever the basis; ``Faulty`` when nothing says how much makes a litre."""
    if recipe.basis is Basis.G_PER_L:
        return rows
    known = recipe.makes_l if recipe.basis is Basis.GRAMS else recipe.g_per_l
    if known is None:
        need = "how many litres the packet makes" if recipe.basis is Basis.GRAMS else "how many grams make a litre"
        raise Faulty([Fault("dilution.without_stock", f"{strength} needs a stock to start from: say {need}.")])
    factor = 1 / Fraction(known) if recipe.basis is Basis.GRAMS else Fraction(known) / 100
    return tuple(Weighed(each.substance, each.low * factor, each.high * factor) for each in rows)


def _made_up(rows: tuple[Weighed, ...], recipe: Recipe, water: Fraction, ph: Ph | None, table: Table) -> Mixture:
    dissolved, changes = dissolve(rows, table)
    thinner = tuple(Weighed(each.substance, each.low / (1 + water), each.high / (1 + water)) for each in dissolved)
    notes = list(_rest(recipe)) if recipe.basis is Basis.PERCENT else ["What is not named is water."]
    if recipe.density is None:
        density = WATER
        notes.append(_NO_DENSITY)
    else:
        density = (Fraction(recipe.density) + water * WATER) / (1 + water)
        notes.append(f"Density {shown(density)} kg/l, volumes taken to add up.")
    return Mixture(in_liquid(thinner, density), False, ph, tuple(notes), changes)


def _percent_diluted(recipe: Recipe, rows: tuple[Weighed, ...], water: Fraction, ph: Ph | None) -> Mixture:
    notes = list(_rest(recipe))
    density = Fraction(recipe.density) if recipe.density is not None else DENSEST
    if recipe.density is None and water:
        notes.append(_NO_DENSITY_DILUTED)
    left = density / (density + water * WATER)
    parts = tuple(Part(each.substance, each.low * left, each.high * left) for each in rows)
    return Mixture(parts, False, ph, tuple(notes))


def _ph(recipe: Recipe, strength: str, water: Fraction) -> Ph | None:
    """Return the pH measured at this strength, else the bounds it can have been diluted to from the stock's.

    Water moves a pH towards 7 by at most log10(1+n), and a buffered bath hardly at all. Source: definition of pH.
    """
    measured = dict(recipe.ph)
    if strength in measured:
        value = measured[strength]
        return Ph(value, value, strength in recipe.ph_shown_mild)
    if STOCK not in measured:
        return None
    stock = measured[STOCK]
    moved = (Decimal((1 + water).numerator) / Decimal((1 + water).denominator)).log10()
    mild = STOCK in recipe.ph_shown_mild
    if stock <= _NEUTRAL:
        return Ph(stock, min(stock + moved, _NEUTRAL), mild)
    return Ph(max(stock - moved, _NEUTRAL), stock, mild)
