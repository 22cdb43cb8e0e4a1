"""A stop bath: how acid it is, what neutralises it, and what it does where it meets a developer."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from chemistry.science import air
from chemistry.science.bleach import SULFITES
from chemistry.science.oxidation import MOLAR_VOLUME_L
from chemistry.science.reaction import heat
from chemistry.science.salt import WATER_HEAT

ACETIC, CITRIC, CITRIC_HYDRATE = "64-19-7", "77-92-9", "5949-29-1"
ACIDS: Mapping[str, tuple[Decimal, tuple[float, ...]]] = {  # CAS: (g/mol, pKa at 25 °C from memory)
    ACETIC: (Decimal("60.052"), (air.PKA_ACETIC,)),
    CITRIC: (Decimal("192.123"), (3.128, 4.761, 6.396)),
    CITRIC_HYDRATE: (Decimal("210.138"), (3.128, 4.761, 6.396)),
}
BASES: Mapping[str, tuple[str, Decimal, int]] = {  # name: (formula, g/mol, moles of acid one mole takes)
    "sodium bicarbonate": ("NaHCO3", Decimal("84.007"), 1),
    "sodium carbonate, anhydrous": ("Na2CO3", Decimal("105.988"), 2),
    "sodium hydroxide": ("NaOH", Decimal("39.997"), 1),
}
DEVELOPER_ALARM_PH, DEVELOPER_LOWEST_PH = Decimal("6.5"), Decimal("7.0")
NOT_COUNTED = (
    "What was carried over from developer is not counted, so that less base is needed than this: add it in small"
    " portions, wait until the foam is down, and measure the pH.",
    "The pH is ideal, without activity corrections; carbon dioxide that stays dissolved keeps it lower for a while.",
)
_CENTI, _SMALL = Decimal("0.01"), Decimal("0.0001")


@dataclass(frozen=True)
class Base:
    """Grams of one base, litres of carbon dioxide it sets free at 25 °C, and the rise in K where it is known."""

    name: str
    formula: str
    grams: Decimal
    carbon_dioxide_l: Decimal
    rise_k: Decimal | None


@dataclass(frozen=True)
class Neutralised:
    """The bath's own pH, the share of its acid taken at the target pH, and what each base would need for that."""

    ph: Decimal
    share: Decimal
    bases: tuple[Base, ...]


@dataclass(frozen=True)
class Soured:
    """Acid poured into a sulfite bath: pH, gas, and the litres of acid bath at which acid equals sulfite."""

    fumes: air.Fumes
    break_point_l: Decimal
    acid_mol: Decimal
    sulfite_mol: Decimal

    @property
    def safe(self) -> bool:
        """Say whether the mixture stays at or above pH 7, where hardly any gas comes off."""
        return self.fumes.ph >= DEVELOPER_LOWEST_PH


def acid_ph(g_per_l: Decimal, acid: str = ACETIC) -> Decimal:
    """Return the pH of a weak acid in water, g/L above 0: charge balance H = C n(pH) + OH, by bisection.

    Acetic 20 g/L 2.62; citric acid counts all three protons. Ideal, 25 °C. Source: pKa from memory.
    """
    if g_per_l <= 0:
        raise ValueError("an acid bath has more than 0 g/L of acid")
    mass, pkas = ACIDS[acid]
    low, high, strength = 0.0, 7.0, float(g_per_l / mass)
    for _ in range(60):
        middle = (low + high) / 2
        free = 10**-middle - strength * _protons_lost(middle, pkas) - 10 ** (middle - air.PKW)
        low, high = (middle, high) if free > 0 else (low, middle)
    return Decimal(low).quantize(_CENTI)


def share_neutralised(ph: Decimal, acid: str = ACETIC) -> Decimal:
    """Return the share of a weak acid's protons that base has taken at a pH, 0 to 1.

    For acetic acid 1 / (1 + 10^(pKa - pH)): 0.637 at pH 5, 0.946 at 6, 0.994 at 7. Source: dissociation, pKa from
    memory.
    """
    _, pkas = ACIDS[acid]
    return Decimal(_protons_lost(float(ph), pkas) / len(pkas)).quantize(_SMALL)


def neutralise(g_per_l: Decimal, litres: Decimal, *, acid: str = ACETIC, target: Decimal | None = None) -> Neutralised:
    """Return what would bring a stop bath to a pH, or take all of its acid when no target is given; g/L and L above 0.

    grams = moles x protons x share x M / (moles of acid a mole takes); the same moles of CO2 from bicarbonate, half
    from carbonate with two. Only hydroxide's rise is known: 56.07 kJ/mol / (4.18 kJ/(kg K) x L), without its heat of
    dissolving (some 3.5 K more, from memory). Source: stoichiometry.
    """
    mass, pkas = ACIDS[acid]
    share = share_neutralised(target, acid) if target is not None else Decimal(1)
    moles = g_per_l * litres / mass * len(pkas) * share
    return Neutralised(
        acid_ph(g_per_l, acid), share, tuple(_base(name, moles, litres, acetic=acid == ACETIC) for name in BASES)
    )


def sour(
    bath_g_per_l: Mapping[str, Decimal],
    bath_l: Decimal,
    *,
    acetic_g_per_l: Decimal,
    acid_l: Decimal,
    headspace_l: Decimal = Decimal(0),
) -> Soured:
    """Return what an acetic stop bath poured into a developer does, litres above 0, g/L by CAS number.

    The break point is where moles of acid equal moles of sulfite: 2.38 L of 20 g/L for a litre of MQ-borax stock.
    pH and gas are those of ``air.sulfite_and_acid``: an upper bound at equilibrium. Source: charge balance.
    """
    if acetic_g_per_l <= 0 or acid_l <= 0 or bath_l <= 0:
        raise ValueError("both baths have a volume, and the acid bath has acid")
    sulfite = sum(
        (bath_g_per_l[cas] * bath_l / mass * count for cas, (mass, count) in SULFITES.items() if cas in bath_g_per_l),
        Decimal(0),
    )
    acid = acetic_g_per_l * acid_l
    fumes = air.sulfite_and_acid(sulfite * air.SULFITE, acid, bath_l + acid_l, headspace_l)
    moles = acid / ACIDS[ACETIC][0]
    return Soured(
        fumes,
        (sulfite * ACIDS[ACETIC][0] / acetic_g_per_l).quantize(_CENTI),
        moles.quantize(_SMALL),
        sulfite.quantize(_SMALL),
    )


def _base(name: str, moles: Decimal, litres: Decimal, *, acetic: bool) -> Base:
    formula, mass, takes = BASES[name]
    carbonate = "CO3" in formula
    gas = moles / takes if carbonate else Decimal(0)
    warms = not carbonate and acetic
    rise = (moles * -heat("acetic_NaOH") / (WATER_HEAT * litres)).quantize(Decimal("0.1")) if warms else None
    return Base(name, formula, (moles / takes * mass).quantize(_CENTI), (gas * MOLAR_VOLUME_L).quantize(_CENTI), rise)


def _protons_lost(ph: float, pkas: tuple[float, ...]) -> float:
    """Return how many protons a mole has lost on average at a pH."""
    weights, so_far = [1.0], 1.0
    for pka in pkas:
        so_far *= 10 ** (ph - pka)
        weights.append(so_far)
    return sum(count * each for count, each in enumerate(weights)) / sum(weights)
