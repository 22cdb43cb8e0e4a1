"""Theoretical oxygen demand: what full oxidation would take, nitrogen left as ammonia, sulfur ending as sulfate."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

OXYGEN = Decimal("31.998")  # g/mol O2
# CAS: (name, mass in g/mol as weighed, what is oxidised as a formula, moles of that in one mole as weighed).
# Metals count as hydrogen of the acid, and inorganic salts have their moles of O2 written out.
_ORGANIC: Mapping[str, tuple[str, str, str, int]] = {
    "123-31-9": ("hydroquinone", "110.111", "C6H6O2", 1),
    "55-55-0": ("metol", "344.384", "C7H9NO", 2),
    "92-43-3": ("phenidone", "162.188", "C9H10N2O", 1),
    "13047-13-7": ("dimezone-S", "206.241", "C11H14N2O2", 1),
    "50-81-7": ("ascorbic acid", "176.124", "C6H8O6", 1),
    "134-03-2": ("sodium ascorbate", "198.106", "C6H8O6", 1),
    "6381-77-7": ("sodium isoascorbate", "198.106", "C6H8O6", 1),
    "64-19-7": ("acetic acid", "60.052", "C2H4O2", 1),
    "77-92-9": ("citric acid", "192.123", "C6H8O7", 1),
    "5949-29-1": ("citric acid monohydrate", "210.138", "C6H8O7", 1),
    "50-00-0": ("formaldehyde", "30.026", "CH2O", 1),
    "111-30-8": ("glutaral", "100.116", "C5H8O2", 1),
    "95-14-7": ("benzotriazole", "119.124", "C6H5N3", 1),
    "60-00-4": ("EDTA", "292.242", "C10H16N2O8", 1),
    "6381-92-6": ("EDTA disodium dihydrate", "372.237", "C10H16N2O8", 1),
    "64-02-8": ("EDTA tetrasodium", "380.171", "C10H16N2O8", 1),
    "140-01-2": ("pentasodium pentetate", "503.256", "C14H23N3O10", 1),
    "25646-77-9": ("colour developing agent CD-4, sulfate", "292.352", "C11H18N2O", 1),
}
_SULFUR: Mapping[str, tuple[str, str, str]] = {  # CAS: (name, g/mol, moles of O2 for a mole)
    "7757-83-7": ("sodium sulfite", "126.043", "0.5"),
    "10102-15-5": ("sodium sulfite heptahydrate", "252.150", "0.5"),
    "10117-38-1": ("potassium sulfite", "158.260", "0.5"),
    "7631-90-5": ("sodium bisulfite", "104.061", "0.5"),
    "7681-57-4": ("sodium metabisulfite", "190.107", "1"),
    "7772-98-7": ("sodium thiosulfate", "158.108", "2"),
    "10102-17-7": ("sodium thiosulfate pentahydrate", "248.184", "2"),
    "7783-18-8": ("ammonium thiosulfate", "148.205", "2"),
}
INERT = frozenset(
    {"7732-18-5", "497-19-8", "5968-11-6", "6132-02-1", "584-08-7", "1303-96-4", "12179-04-3", "1330-43-4", "1310-73-2"}
    | {"10043-35-3", "1303-86-2", "7775-19-1", "10555-76-7", "7758-02-3"}
)
PUBLISHED = (
    ("a South African municipal by-law of 2014", Decimal(4000)),
    ("a sample consent in the UK", Decimal(400)),
)
"""mg/L that sewers somewhere take, read in stored copies: examples to compare with, never this town's limit."""
ASSUMED = (
    "Theoretical: everything is oxidised to the end, nitrogen stays ammonia. A chemical test finds about this, a"
    " biological one less.",
    "As mixed: what the bath has done and taken up since is not counted.",
)
_STEP = Decimal("0.0001")


@dataclass(frozen=True)
class Share:
    """One substance: its grams, and the grams of oxygen it takes."""

    cas: str
    name: str
    grams_per_l: Decimal
    oxygen_per_l: Decimal


@dataclass(frozen=True)
class Demand:
    """Grams of oxygen to the litre: each substance, the sum, and what could not be counted by CAS number."""

    shares: tuple[Share, ...]
    total: Decimal
    uncounted: tuple[str, ...]


def per_gram(cas: str) -> Decimal | None:
    """Return grams of O2 a gram takes, 0 for what does not burn, None where it is not known.

    Organic CaHbOcNd: moles of O2 = a + (b - 3d)/4 - c/2. Hydroquinone 1.889, sulfite 0.127. Source: stoichiometry.
    """
    if cas in INERT:
        return Decimal(0)
    if cas in _SULFUR:
        _, mass, moles = _SULFUR[cas]
        return Decimal(moles) * OXYGEN / Decimal(mass)
    if cas in _ORGANIC:
        _, mass, formula, count = _ORGANIC[cas]
        return count * organic(formula) * OXYGEN / Decimal(mass)
    return None


def organic(formula: str) -> Decimal:
    """Return moles of O2 that a mole of CaHbNdOc takes down to CO2, H2O and NH3: a + (b - 3d)/4 - c/2."""
    atoms = {element: int(count or 1) for element, count in re.findall(r"([A-Z])(\d*)", formula)}
    carbon, hydrogen, nitrogen, oxygen = (atoms.get(element, 0) for element in "CHNO")
    return carbon + (Decimal(hydrogen) - 3 * nitrogen) / 4 - Decimal(oxygen) / 2


def demand(g_per_l: Mapping[str, Decimal]) -> Demand:
    """Return the theoretical oxygen demand of a bath from CAS -> g/L; 25.1 g/L for the MQ-borax stock.

    Source: stoichiometry, ammonia basis.
    """
    known = {cas: taken for cas in g_per_l if (taken := per_gram(cas)) is not None}
    shares = tuple(
        Share(cas, _name(cas), g_per_l[cas], (g_per_l[cas] * taken).quantize(_STEP))
        for cas, taken in known.items()
        if taken
    )
    whole = sum((g_per_l[cas] * taken for cas, taken in known.items()), Decimal(0))
    return Demand(shares, whole.quantize(_STEP), tuple(sorted(set(g_per_l) - set(known))))


def _name(cas: str) -> str:
    return (_ORGANIC.get(cas) or _SULFUR[cas])[0]
