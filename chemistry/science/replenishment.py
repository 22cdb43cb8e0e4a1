"""Keeping a working tank alive: what to add, what to pour out first, and how much of the old is left."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from chemistry.science.formula import Replenishing

_TENTH = Decimal("0.1")


@dataclass(frozen=True)
class Owed:
    """Millilitres of replenisher to add, and of tank liquid to pour out before there is room for it."""

    add_ml: Decimal
    pour_ml: Decimal


def owed(rule: Replenishing, *, load: Fraction, added_ml: Decimal, contents_ml: Decimal, full_ml: Decimal) -> Owed:
    """What is still to be added for ``load`` roll units: rate x load - added; overflow = contents + add - full, if any.

    Volumes in mL to 0.1; nothing is owed when more than enough went in. Source: US Army SS0514: add before the next
    batch, restore the volume, discard the surplus; the rate belongs to the formula (45-100 mL, common practice).
    """
    asked = rule.ml_per_roll * load.numerator / load.denominator
    add = max(asked - added_ml, Decimal(0)).quantize(_TENTH)
    return Owed(add, min(max(contents_ml + add - full_ml, Decimal(0)), contents_ml))


def rolls_per_turnover(tank_ml: Decimal, ml_per_roll: Decimal) -> Decimal:
    """Rolls until as much replenisher has gone in as the tank holds: V / r. Valid for r above 0. Source: definition."""
    return (tank_ml / ml_per_roll).quantize(Decimal("0.001"))


def turnovers(added_ml: Decimal, tank_ml: Decimal) -> Decimal:
    """How many tankfuls of replenisher have gone in: added / V. Valid for V above 0. Source: definition."""
    return (added_ml / tank_ml).quantize(Decimal("0.01"))


def original_fraction(tank_ml: Decimal, ml_per_roll: Decimal, rolls: Fraction) -> Decimal:
    """Share of the first filling still in the tank after ``rolls``: (1 - r/V)^n; 0 when one dose fills the tank.

    Pour out, then add, roll by roll. Valid for V above 0. Source: derived; 1 L, 70 mL, 20 rolls: 0.234.
    """
    kept = max(1 - ml_per_roll / tank_ml, Decimal(0))
    power = Decimal(rolls.numerator) / rolls.denominator
    return (kept**power if power else Decimal(1)).quantize(Decimal("0.00001"))


def strip_due(rule: Replenishing, last_strip_on: date) -> date:
    """The day the next control strip is due: last strip + strip days, weekly as a rule. Source: common practice."""
    return last_strip_on + timedelta(days=rule.strip_days)
