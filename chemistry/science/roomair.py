"""From what a bath is made of to what its powder or its fumes put into a room's air."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from chemistry.science.air import SULFITE
from chemistry.science.hazard.mixture import UNNAMED, Mixture
from chemistry.science.hazard.substance import Agent
from chemistry.science.hazard.table import Table

ANY_DUST, SULFUR_DIOXIDE = "", "7446-09-5"
SODIUM_SULFITE, ACETIC_ACID = "7757-83-7", "64-19-7"
# CAS: g/mol. Counted as sodium sulfite, mole for mole.
LIKE_SULFITE = {"10117-38-1": Decimal("158.26"), "10102-15-5": Decimal("252.15")}
# What is acid by itself or frees sulfur dioxide in acid, and is not in the balance: with it there may be more gas.
UNBALANCED = {
    "7681-57-4": "sodium metabisulfite",
    "16731-55-8": "potassium metabisulfite",
    "7631-90-5": "sodium bisulfite",
    "77-92-9": "citric acid",
    "5949-29-1": "citric acid",
    "7664-93-9": "sulfuric acid",
    "7783-18-8": "thiosulfate",
    "7772-98-7": "thiosulfate",
    "10102-17-7": "thiosulfate",
}
_STEP = Decimal("0.000001")


@dataclass(frozen=True)
class Dust:
    """Agents with limits in air and their share of the powder, 0 to 1; ``without``: ingredients that have none."""

    agents: tuple[tuple[Agent, Decimal], ...]
    without: tuple[str, ...]


@dataclass(frozen=True)
class Brine:
    """Sulfite and acetic acid in grams per litre, and the names of what is acid too and is not balanced."""

    sulfite: Decimal
    acetic: Decimal
    unbalanced: tuple[str, ...]


def of_powder(powder: Mixture, table: Table) -> Dust:
    """Return what limits a powder's dust is judged by: each ingredient at the most it can be, and dust of any kind.

    Shares in % w/w of the powder become parts of 1. Source: derived.
    """
    shares = [(each.substance, _part(each.high / 100)) for each in powder.parts if each.high > 0]
    known = [(table.agent(found.cas), found, share) for found, share in shares if found is not UNNAMED]
    agents = tuple((agent, share) for agent, _, share in known if agent is not None)
    without = [found.name for agent, found, _ in known if agent is None]
    without += [found.name for found, _ in shares if found is UNNAMED]
    return Dust((*agents, *_any_dust(table)), tuple(without))


def of_substance(cas: str, table: Table) -> Dust:
    """Return what a pure substance's dust is judged by; LookupError when the table does not know the substance."""
    found = table.find(cas)
    if found is None:
        raise LookupError(cas)
    agent = table.agent(cas)
    own = ((agent, Decimal(1)),) if agent else ()
    return Dust((*own, *_any_dust(table)), () if agent else (found.name,))


def of_liquid(parts: Iterable[tuple[str, Decimal]]) -> Brine:
    """Return sulfite and acetic acid of a liquid told as (CAS number, g/L); potassium sulfite counts by its moles."""
    rows = list(parts)
    sulfite = sum((_as_sulfite(cas, grams) for cas, grams in rows), Decimal(0))
    acetic = sum((grams for cas, grams in rows if cas == ACETIC_ACID), Decimal(0))
    others = sorted({UNBALANCED[cas] for cas, grams in rows if cas in UNBALANCED and grams})
    return Brine(sulfite.quantize(_STEP), acetic.quantize(_STEP), tuple(others))


def _as_sulfite(cas: str, grams: Decimal) -> Decimal:
    if cas == SODIUM_SULFITE:
        return grams
    return grams * SULFITE / LIKE_SULFITE[cas] if cas in LIKE_SULFITE else Decimal(0)


def _any_dust(table: Table) -> tuple[tuple[Agent, Decimal], ...]:
    agent = table.agent(ANY_DUST)
    return ((agent, Decimal(1)),) if agent else ()


def _part(share: Fraction) -> Decimal:
    return (Decimal(share.numerator) / Decimal(share.denominator)).quantize(_STEP)
