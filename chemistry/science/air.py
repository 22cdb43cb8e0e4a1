"""Air in a well-mixed room: dust from a powder, sulfur dioxide from acid in sulfite, and how long until it is clear."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import exp, log

from chemistry.science.hazard.substance import Agent, Exposure

MOLAR_LITRES = Decimal("24.06")  # ideal gas, litres per mole at 20 °C and 1 atm
SULFITE, ACETIC = Decimal("126.04"), Decimal("60.05")  # g/mol
# Dissociation and solubility at 25 °C, from memory; H in mol/l for one atmosphere.
PKA_SULFUROUS, PKA_BISULFITE, PKA_ACETIC, PKW, HENRY_SO2 = 1.85, 7.2, 4.756, 14.0, 1.23
FROM_MEMORY = (
    ("first pKa of sulfurous acid", PKA_SULFUROUS),
    ("pKa of bisulfite", PKA_BISULFITE),
    ("pKa of acetic acid", PKA_ACETIC),
    ("pKw", PKW),
    ("Henry constant of sulfur dioxide, mol/(l atm)", HENRY_SO2),
)
WELL_MIXED = (
    "Everything is released at once and mixes through the whole room at once; near the work it is higher.",
    "No dust settles and no gas is taken up by walls or water, so the figures in the room are on the high side.",
)
EQUILIBRIUM = (
    "The gas figure is the equilibrium above the liquid at 25 °C in a closed space, without activity corrections: an"
    " order of magnitude and an upper bound for the room.",
    "Borax, hydroquinone and other weak acids are left out; only sulfite and acetic acid are balanced.",
)
_STEP = Decimal("0.0001")


@dataclass(frozen=True)
class Room:
    """A room: volume in m3 above 0, air changes per hour from 0 up."""

    volume_m3: Decimal
    air_changes: Decimal

    def __post_init__(self) -> None:
        """Refuse a room without volume or with air flowing backwards."""
        if not (self.volume_m3.is_finite() and self.volume_m3 > 0):
            raise ValueError("a room has a volume above 0 m3")
        if not (self.air_changes.is_finite() and self.air_changes >= 0):
            raise ValueError("air changes per hour are a number from 0 up")


@dataclass(frozen=True)
class Against:
    """One limit and what the room reaches: in the limit's own unit, over its own time.

    ``reaching`` is how much released would reach the limit, in grams.
    """

    agent: str
    limit: Exposure
    reached: Decimal
    over: bool
    reaching_g: Decimal


@dataclass(frozen=True)
class Cloud:
    """What a release does: peak in mg/m3, the curve as (minute, mg/m3), every limit, minutes until 5 % are left."""

    peak_mg_m3: Decimal
    curve: tuple[tuple[int, Decimal], ...]
    against: tuple[Against, ...]
    clear_after_min: Decimal | None
    assumptions: tuple[str, ...]


def concentration(grams: Decimal, room: Room, minute: Decimal) -> Decimal:
    """Return mg/m3 so many minutes after a release: 1000 m/V x exp(-ACH t/60). m in g, V in m3. Source: derived."""
    return _rounded(_start(grams, room) * exp(-_rate(room) * float(minute)))


def mean(grams: Decimal, room: Room, minutes: int) -> Decimal:
    """Return the mean mg/m3 over the first minutes: 1000 m/V x (1 - exp(-k t))/(k t), k = ACH/60; 0 min: the peak."""
    return _rounded(_start(grams, room) * _mean_share(room, minutes))


def clearance(air_changes: Decimal, share_left: Decimal = Decimal("0.05")) -> Decimal | None:
    """Return minutes until this share is left: -60 ln(share)/ACH; None without any air change.

    95 % gone: 36, 18 and 9 minutes at 5, 10 and 20 air changes per hour. Valid for 0 < share < 1. Source: derived.
    """
    if not 0 < share_left < 1:
        raise ValueError("the share left is between 0 and 1")
    if air_changes <= 0:
        return None
    return Decimal(-60 * log(float(share_left)) / float(air_changes)).quantize(Decimal("0.1"))


def dust(grams_raised: Decimal, room: Room, agents: Sequence[tuple[Agent, Decimal]]) -> Cloud:
    """Return what so many grams of powder in the air do; agents come with their share of the powder, 0 to 1.

    The dust is taken to have the powder's composition and to count for every size limit. Source: derived, well mixed.
    """
    rows = [
        _against(agent, limit, grams_raised, room, share * agent.counted_share)
        for agent, share in agents
        for limit in agent.limits
        if share > 0
    ]
    said = (*WELL_MIXED, "All dust counts for every limit, inhalable and respirable alike.")
    return _cloud(grams_raised, room, rows, said)


def gas(grams: Decimal, room: Room, agent: Agent) -> Cloud:
    """Return what so many grams of a gas do in a room, against its limits in ppm (needs its molar mass) or mg/m3."""
    rows = [_against(agent, limit, grams, room, Decimal(1)) for limit in agent.limits]
    return _cloud(grams, room, rows, WELL_MIXED)


def ppm(mg_m3: Decimal, molar_mass: Decimal) -> Decimal:
    """Return ppm by volume at 20 °C: mg/m3 x 24.06 / M. Source: ideal gas law."""
    return (mg_m3 * MOLAR_LITRES / molar_mass).quantize(_STEP)


@dataclass(frozen=True)
class Fumes:
    """Acid in a sulfite bath: pH of the mixture, SO2 in closed air above it, and all the SO2 the acid could free."""

    ph: Decimal
    headspace_ppm: Decimal
    most_g: Decimal
    headspace_g: Decimal
    assumptions: tuple[str, ...]


def sulfite_and_acid(
    sulfite_g: Decimal, acetic_g: Decimal, liquid_l: Decimal, headspace_l: Decimal = Decimal(0)
) -> Fumes:
    """Return what acetic acid carried into sulfite does, in grams of each, litres of mixture and of air above it.

    pH from the charge balance Na + H = HSO3 + 2 SO3 + acetate + OH; SO2 above it = [SO2]/H. ``most_g`` is one mole
    of SO2 for each mole of acid, at most all sulfite: it cannot be more. Constants from memory, checked against the
    break point where acid equals sulfite.
    """
    if liquid_l <= 0 or sulfite_g < 0 or acetic_g < 0 or headspace_l < 0:
        raise ValueError("grams are from 0 up and the liquid has a volume")
    sulfite, acid = sulfite_g / SULFITE, acetic_g / ACETIC
    ph = mixed_ph(sulfite / liquid_l, acid / liquid_l)
    above = headspace(sulfite / liquid_l, ph)
    most = min(acid, sulfite) * Decimal("64.06")
    held = (above / 1_000_000 * headspace_l / MOLAR_LITRES * Decimal("64.06")).quantize(Decimal("0.000001"))
    return Fumes(ph, above, most.quantize(_STEP), min(held, most), EQUILIBRIUM)


def mixed_ph(sulfite_mol_l: Decimal, acetic_mol_l: Decimal) -> Decimal:
    """Return the pH of sodium sulfite with acetic acid, mol/l of each; bisection of the charge balance."""
    low, high = 0.0, 14.0
    sulfite, acid = float(sulfite_mol_l), float(acetic_mol_l)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _charge(middle, sulfite, acid) > 0 else (low, middle)
    return Decimal(low).quantize(Decimal("0.01"))


def headspace(sulfite_mol_l: Decimal, ph: Decimal) -> Decimal:
    """Return ppm of SO2 in closed air over all S(IV) in mol/l at a pH: [SO2aq] / 1.23 x 10^6. Constants from memory."""
    free, _, _ = _sulfite_species(float(ph))
    return Decimal(free * float(sulfite_mol_l) / HENRY_SO2 * 1e6).quantize(_STEP)


def _sulfite_species(ph: float) -> tuple[float, float, float]:
    proton, first, second = 10**-ph, 10**-PKA_SULFUROUS, 10**-PKA_BISULFITE
    whole = proton**2 + first * proton + first * second
    return proton**2 / whole, first * proton / whole, first * second / whole


def _charge(ph: float, sulfite: float, acid: float) -> float:
    """Return plus minus minus in mol/l: above 0 where the mixture is more basic than this pH."""
    _, hydrogen_sulfite, bare = _sulfite_species(ph)
    acetate = acid / (1 + 10 ** (PKA_ACETIC - ph))
    minus = sulfite * (hydrogen_sulfite + 2 * bare) + acetate + 10 ** (ph - PKW)
    return 2 * sulfite + 10**-ph - minus


def _cloud(grams: Decimal, room: Room, rows: list[Against], said: tuple[str, ...]) -> Cloud:
    if not (grams.is_finite() and grams >= 0):
        raise ValueError("grams released are a number from 0 up")
    curve = tuple((minute, concentration(grams, room, Decimal(minute))) for minute in (0, 5, 10, 15, 30, 60, 120, 240))
    return Cloud(concentration(grams, room, Decimal(0)), curve, tuple(rows), clearance(room.air_changes), said)


def _against(agent: Agent, limit: Exposure, grams: Decimal, room: Room, share: Decimal) -> Against:
    to_unit = _converter(agent, limit)
    exactly = 1000 * Decimal(_mean_share(room, limit.minutes)) / room.volume_m3 * share
    reached = to_unit(grams * exactly)
    reaching = limit.value / to_unit(exactly)
    return Against(agent.name, limit, reached.quantize(_STEP), reached >= limit.value, reaching.quantize(_STEP))


def _converter(agent: Agent, limit: Exposure) -> Callable[[Decimal], Decimal]:
    molar = agent.molar_mass
    if limit.unit == "mg/m3":
        return lambda value: value
    if molar is None:
        raise ValueError(f"{agent.name} has a limit in ppm but no molar mass")
    return lambda value: value * MOLAR_LITRES / molar


def _rate(room: Room) -> float:
    return float(room.air_changes) / 60


def _start(grams: Decimal, room: Room) -> float:
    return float(1000 * grams / room.volume_m3)


def _mean_share(room: Room, minutes: int) -> float:
    passed = _rate(room) * minutes
    return (1 - exp(-passed)) / passed if passed > 0 else 1.0


def _rounded(value: float) -> Decimal:
    return Decimal(value).quantize(_STEP)
