"""Balanced reactions of waste treatment, and the heat they give off: Hess's law over enthalpies of formation.

Species are written with their charge at the end (``SO4--``). The equations are balanced by atoms and charge, which the
tests prove with linear algebra; they say what may happen, never how fast.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

READ, FROM_MEMORY, ESTIMATE = "read", "from memory", "estimate from memory"
CRC = "aqueous ions at 25 °C: CRC table as it stands in the open chemicals package"


@dataclass(frozen=True)
class Formation:
    """Enthalpy of formation in kJ/mol at 25 °C, and where it is from."""

    value: Decimal
    status: str = READ
    source: str = CRC


def _ion(value: str) -> Formation:
    return Formation(Decimal(value))


def _memory(value: str, source: str, status: str = FROM_MEMORY) -> Formation:
    return Formation(Decimal(value), status, source)


_DISSOLVED = "solid plus a heat of solution of about 20 kJ/mol, all from memory"
FORMATION: Mapping[str, Formation] = MappingProxyType(
    {
        "SO3--": _ion("-635.5"),
        "HSO3-": _ion("-626.2"),
        "SO4--": _ion("-909.3"),
        "S2O3--": _ion("-652.3"),
        "OCl-": _ion("-107.1"),
        "Cl-": _ion("-167.2"),
        "OH-": _ion("-230.0"),
        "H+": Formation(Decimal(0), READ, "zero by convention"),
        "CH3COO-": _ion("-486.0"),
        "HCO3-": _ion("-692.0"),
        "H2O": _memory("-285.83", "CODATA, liquid water"),
        "CH3COOH": _memory("-485.76", "NBS tables, in water"),
        "CO2": _memory("-413.26", "NBS tables, in water"),
        "C6H6O2": _memory("-344.5", _DISSOLVED, ESTIMATE),
        "C6H4O2": _memory("-167.7", _DISSOLVED, ESTIMATE),
    }
)


@dataclass(frozen=True)
class Reaction:
    """A balanced equation: {species: coefficient} on either side. The first species on the left is what is counted."""

    name: str
    left: Mapping[str, int]
    right: Mapping[str, int]

    def per(self, species: str) -> int:
        """Return moles of a species taken for each mole of the first one."""
        return self.left.get(species, 0)

    @property
    def words(self) -> str:
        """Return the equation as it is written."""
        return " -> ".join(" + ".join(_times(*each) for each in side.items()) for side in (self.left, self.right))


def _times(species: str, count: int) -> str:
    return species if count == 1 else f"{count} {species}"


_ALL = (
    Reaction("sulfite", {"SO3--": 1, "OCl-": 1}, {"SO4--": 1, "Cl-": 1}),
    Reaction("bisulfite", {"HSO3-": 1, "OCl-": 1}, {"SO4--": 1, "Cl-": 1, "H+": 1}),
    Reaction("thiosulfate", {"S2O3--": 1, "OCl-": 4, "OH-": 2}, {"SO4--": 2, "Cl-": 4, "H2O": 1}),
    Reaction("hydroquinone", {"C6H6O2": 1, "OCl-": 1}, {"C6H4O2": 1, "Cl-": 1, "H2O": 1}),
    Reaction("hydroquinone_to_CO2", {"C6H6O2": 1, "OCl-": 13}, {"CO2": 6, "Cl-": 13, "H2O": 3}),
    Reaction("metol_base_to_imine", {"C7H9NO": 1, "OCl-": 1}, {"C7H7NO": 1, "Cl-": 1, "H2O": 1}),
    Reaction("metol_base_to_CO2_NH3", {"C7H9NO": 1, "OCl-": 16}, {"CO2": 7, "NH3": 1, "Cl-": 16, "H2O": 3}),
    Reaction("chlorine", {"OCl-": 1, "Cl-": 1, "H+": 2}, {"Cl2": 1, "H2O": 1}),
    Reaction("chloramine", {"NH3": 1, "OCl-": 1}, {"NH2Cl": 1, "OH-": 1}),
    Reaction("neutralisation", {"H+": 1, "OH-": 1}, {"H2O": 1}),
    Reaction("acetic_NaOH", {"CH3COOH": 1, "OH-": 1}, {"CH3COO-": 1, "H2O": 1}),
    Reaction("acetic_bicarbonate", {"CH3COOH": 1, "HCO3-": 1}, {"CH3COO-": 1, "CO2": 1, "H2O": 1}),
    Reaction("silver_on_iron", {"Ag+": 2, "Fe": 1}, {"Ag": 2, "Fe++": 1}),
)
REACTIONS: Mapping[str, Reaction] = MappingProxyType({each.name: each for each in _ALL})


def heat(name: str) -> Decimal:
    """Return kJ per mole of the first species, below zero where heat is given off: products minus reactants.

    Valid near 25 °C in dilute solution. Hydroquinone to benzoquinone is an estimate, +-15 kJ/mol. Source: Hess's law
    over ``FORMATION``.
    """
    known = REACTIONS[name]
    return _sum(known.right) - _sum(known.left)


def _sum(side: Mapping[str, int]) -> Decimal:
    return sum((FORMATION[species].value * count for species, count in side.items()), Decimal(0))
