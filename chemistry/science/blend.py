"""When liquids meet or part: load, capacity basis and oxygen go with the volume, and age is the oldest.

Grids, so that nothing drifts: volumes in 0.1 mL, load in 1/3600 roll unit.
"""

from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from chemistry.science.oxidation import Dose


@dataclass(frozen=True)
class Contents:
    """What one vessel holds. ``basis`` is the volume it was filled with, on which its capacity is counted.

    Pouring in adds to the basis and pouring out takes its share; carry-out on film and level corrections change the
    ``volume`` alone, because the load was done by the liquid that was there.
    """

    volume: int
    basis: int
    load: int
    made_on: date
    oxygen: Dose = field(default_factory=Dose)


def share(load_units: int, part: int, whole: int) -> int:
    """The load that goes with ``part`` of ``whole``: load x part / whole, in grid units, half to even.

    Exact for integers; all of it when the whole goes, nothing from nothing. Valid for 0 <= part <= whole.
    """
    if not 0 <= part <= whole:
        raise ValueError(f"{part} is not a part of {whole}")
    return round(Fraction(load_units * part, whole)) if whole else 0


def divide(contents: Contents, part: int) -> tuple[Contents, Contents]:
    """The poured-out ``part`` (0.1 mL) and what stays: load and basis by volume share, age and oxygen the same.

    Both together hold exactly what there was. Valid for 0 <= part <= volume. Source: arithmetic.
    """
    basis, load = share(contents.basis, part, contents.volume), share(contents.load, part, contents.volume)
    poured = replace(contents, volume=part, basis=basis, load=load)
    stays = replace(contents, volume=contents.volume - part, basis=contents.basis - basis, load=contents.load - load)
    return poured, stays


def combine(first: Contents, second: Contents) -> Contents:
    """Two liquids in one vessel: volume, basis and load add; age is the oldest; oxygen (mmol/L) by volume share.

    So topping up resets neither age nor load. Source: mass balance; the oldest date is common practice.
    """
    volume = first.volume + second.volume
    return Contents(
        volume=volume,
        basis=first.basis + second.basis,
        load=first.load + second.load,
        made_on=min(first.made_on, second.made_on),
        oxygen=Dose(
            _mean(first.oxygen.low, first.volume, second.oxygen.low, second.volume),
            _mean(first.oxygen.high, first.volume, second.oxygen.high, second.volume),
        ),
    )


def correct(contents: Contents, volume: int) -> Contents:
    """The same liquid at another level (0.1 mL): carried out on film or read off a scale. Load and basis stay."""
    return replace(contents, volume=volume)


def _mean(first: Decimal, first_volume: int, second: Decimal, second_volume: int) -> Decimal:
    if not first_volume + second_volume:
        return max(first, second)
    return (first * first_volume + second * second_volume) / (first_volume + second_volume)
