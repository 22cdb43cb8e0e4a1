"""What household bleach poured into a bath really does. It is reckoned to be seen, never offered as a treatment.

The customary 50 to 100 mL of 5 % hypochlorite for each litre of an MQ stock burns up a twentieth to a tenth of the
sulfite and leaves the developing agents as they were.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from chemistry.science.air import PKA_BISULFITE
from chemistry.science.reaction import REACTIONS, heat

HYPOCHLORITE = Decimal("74.442")  # g/mol NaOCl
SULFITES = {  # CAS: (g/mol, moles of S(IV) in a mole)
    "7757-83-7": (Decimal("126.043"), 1),
    "10102-15-5": (Decimal("252.150"), 1),
    "10117-38-1": (Decimal("158.260"), 1),
    "7631-90-5": (Decimal("104.061"), 1),
    "7681-57-4": (Decimal("190.107"), 2),
}
THIOSULFATES = {
    "7772-98-7": (Decimal("158.108"), 1),
    "10102-17-7": (Decimal("248.184"), 1),
    "7783-18-8": (Decimal("148.205"), 1),
}
HYDROQUINONE = {"123-31-9": (Decimal("110.111"), 1)}
METOL = {"55-55-0": (Decimal("344.384"), 2)}  # the salt holds two of the base
AMMONIUM = {"7783-18-8": (Decimal("148.205"), 2)}
ACIDS = frozenset({"64-19-7", "77-92-9", "5949-29-1"})
ALSO_OXIDISED = frozenset({"92-43-3", "13047-13-7", "50-81-7", "134-03-2", "6381-77-7", "50-00-0", "111-30-8"})
HEAT_CAPACITY = Decimal("3.80")  # kJ/(kg K): 9 % salt solutions 3.77 to 3.81, computed from a published model
BATH_DENSITY, BLEACH_DENSITY, BLEACH_PERCENT = Decimal("1.09"), Decimal("1.075"), Decimal(5)
LOWEST_BLEACH_PH, LOWEST_SULFITE_PH, ALARM_SULFITE_PH = Decimal("9.5"), Decimal("7.0"), Decimal("6.5")
# From memory: Cl2 hydrolysis in M2, Cl2 solubility in M/atm, pKa of HOCl and of hydroquinone, and rates in 1/(M s):
# HOCl with sulfite (Fogelman and others, 1989), and the diffusion limit for a monoanion.
CL2_HYDROLYSIS, HENRY_CL2, PKA_HOCL, PKA_HQ = 4.5e-4, 0.062, 7.53, 9.85
RATE_SULFITE, RATE_FASTEST = 7.6e8, 1e9
VERDICT = "not_a_treatment"
VERDICT_WORDS = (
    "Bleach is no treatment for photographic baths: what it leaves is more toxic and more volatile than what was there,"
    " and in some countries treating waste needs a permit. Put the bath in its waste container."
)
_SMALL = Decimal("0.0001")


@dataclass(frozen=True)
class Bath:
    """Moles in a litre that hypochlorite takes, and ammonium. ``acid`` and ``uncounted`` name substances by CAS."""

    sulfite: Decimal
    thiosulfate: Decimal
    hydroquinone: Decimal
    metol_base: Decimal
    ammonium: Decimal
    acid: tuple[str, ...] = ()
    uncounted: tuple[str, ...] = ()

    @property
    def agents(self) -> Decimal:
        """Moles of developing agents to the litre, each taking one hypochlorite to its quinone or imine."""
        return self.hydroquinone + self.metol_base


@dataclass(frozen=True)
class Dosing:
    """What a dose does: shares from 0 to 1, heat in kJ, temperature rise in K if nothing is lost, moles left over."""

    hypochlorite_mol: Decimal
    sulfite_share: Decimal
    thiosulfate_share: Decimal
    hydroquinone_share: Decimal
    metol_share: Decimal
    left_over_mol: Decimal
    heat_kj: Decimal
    rise_k: Decimal


@dataclass(frozen=True)
class Demand:
    """Litres of the bleach that all sulfite and thiosulfate would take, then the developing agents to quinones."""

    before_agents_l: Decimal
    to_quinones_l: Decimal
    heat_kj: Decimal
    rise_k: Decimal


def strength(percent: Decimal = BLEACH_PERCENT, density: Decimal = BLEACH_DENSITY) -> Decimal:
    """Return mol/L of hypochlorite: 10 x % by weight x density / 74.442; 5 % at 1.075 kg/L is 0.722.

    Valid above 0 to 20 %. Labels also say available chlorine, which is another figure. Source: molar mass; density
    from memory. Bleach loses strength as it stands.
    """
    if not 0 < percent <= 20 or not Decimal("0.9") <= density <= Decimal("1.4"):
        raise ValueError("hypochlorite has above 0 to 20 % by weight and 0.9 to 1.4 kg/L")
    return 10 * percent * density / HYPOCHLORITE


def bath(g_per_l: Mapping[str, Decimal]) -> Bath:
    """Return the moles to the litre that count, from CAS -> g/L. Source: molar masses."""
    return Bath(
        sulfite=_moles(g_per_l, SULFITES),
        thiosulfate=_moles(g_per_l, THIOSULFATES),
        hydroquinone=_moles(g_per_l, HYDROQUINONE),
        metol_base=_moles(g_per_l, METOL),
        ammonium=_moles(g_per_l, AMMONIUM),
        acid=tuple(sorted(ACIDS & set(g_per_l))),
        uncounted=tuple(sorted(ALSO_OXIDISED & set(g_per_l))),
    )


def dose(
    held: Bath,
    bath_l: Decimal,
    bleach_l: Decimal,
    *,
    mol_per_l: Decimal,
    bleach_density: Decimal = BLEACH_DENSITY,
) -> Dosing:
    """Return what bleach poured slowly into a stirred bath does: sulfite first, then thiosulfate, then the agents.

    1 OCl to a sulfite, 4 to a thiosulfate, 1 to hydroquinone or metol base; heat = moles x enthalpy, rise = heat /
    (3.80 kJ/(kg K) x mass). Litres above 0. Developer poured into bleach goes the other way about and is worse.
    Source: stoichiometry; order from rates, see ``agent_share``.
    """
    given = mol_per_l * bleach_l
    left, heats, shares = given, Decimal(0), []
    for name, there, takes in _steps(held, bath_l):
        used = min(left, there * takes)
        left -= used
        heats += used / takes * -heat(name)
        shares.append(used / (there * takes) if there else Decimal(0))
    mass = bath_l * BATH_DENSITY + bleach_l * bleach_density
    return Dosing(
        given.quantize(_SMALL), shares[0].quantize(_SMALL), shares[1].quantize(_SMALL),
        *_agents(held, shares[2].quantize(_SMALL)), left.quantize(_SMALL), heats.quantize(_SMALL),
        (heats / (HEAT_CAPACITY * mass)).quantize(Decimal("0.01")),
    )  # fmt: skip


def demand(held: Bath, bath_l: Decimal, *, mol_per_l: Decimal, bleach_density: Decimal = BLEACH_DENSITY) -> Demand:
    """Return the bleach a bath would take before and up to quinones, with the heat of the first; computed.

    Quinones are not an end: to carbon dioxide it is 13 OCl for hydroquinone and 16 for metol base, not reached in
    practice. Source: stoichiometry.
    """
    first, second, agents = (there * takes for _, there, takes in _steps(held, bath_l))
    litres = (first + second) / mol_per_l
    done = dose(held, bath_l, litres, mol_per_l=mol_per_l, bleach_density=bleach_density)
    whole = (first + second + agents) / mol_per_l
    return Demand(litres.quantize(_SMALL), whole.quantize(_SMALL), done.heat_kj, done.rise_k)


def agent_share(held: Bath, ph: Decimal) -> Decimal:
    """Return the most of the hypochlorite that hydroquinone can take while there is sulfite: a bound, not a rate.

    k1 [HQ-] / (k1 [HQ-] + k2 [SO3--]) with k1 at the diffusion limit 1e9, k2 7.6e8 1/(M s); 0.0034 for the MQ-borax
    stock at pH 8.5. 0 without hydroquinone. Source: rate constants and pKa from memory.
    """
    one = RATE_FASTEST * float(held.hydroquinone) * _bare(float(ph), PKA_HQ)
    other = RATE_SULFITE * float(held.sulfite) * _bare(float(ph), PKA_BISULFITE)
    return Decimal(one / (one + other) if one else 0).quantize(Decimal("0.00001"))


def chlorine(ph: Decimal, hypochlorite_mol_l: Decimal, chloride_mol_l: Decimal) -> Decimal:
    """Return ppm of chlorine in closed air over bleach at a pH: [HOCl][H][Cl] / 4.5e-4 / 0.062 x 10^6.

    At 25 °C, no activity corrections: an order of magnitude. 0.6 ppm at pH 9, some 1400 at pH 7 over 0.72 mol/L.
    Valid for pH 7 to 12. Source: constants from memory.
    """
    acid = float(hypochlorite_mol_l) * (1 - _bare(float(ph), PKA_HOCL))
    free = acid * 10 ** -float(ph) * float(chloride_mol_l) / CL2_HYDROLYSIS
    return Decimal(free / HENRY_CL2 * 1e6).quantize(Decimal("0.001"))


def warnings(held: Bath, ph: Decimal | None = None) -> Iterable[str]:
    """Yield what goes wrong besides: chlorine, chloramine, quinones, what was not counted."""
    yield "Benzoquinone and its chlorinated kin are more toxic and more volatile than hydroquinone."
    if held.acid or (ph is not None and ph < LOWEST_BLEACH_PH):
        yield "Acid sets chlorine free from bleach: it passes 0.5 ppm in closed air near pH 9 and 10 ppm near pH 8.4."
    if held.ammonium:
        yield "Ammonium makes chloramines with bleach, and at worst nitrogen trichloride, which explodes."
    if held.uncounted:
        yield f"Not counted, though bleach attacks it as well: CAS {', '.join(held.uncounted)}."


def _steps(held: Bath, litres: Decimal) -> tuple[tuple[str, Decimal, int], ...]:
    """Return (reaction, moles there, OCl for each mole) as they go; metol counts as hydroquinone in heat."""
    there = {"sulfite": held.sulfite, "thiosulfate": held.thiosulfate, "hydroquinone": held.agents}
    return tuple((name, moles * litres, REACTIONS[name].per("OCl-")) for name, moles in there.items())


def _agents(held: Bath, share: Decimal) -> tuple[Decimal, Decimal]:
    nothing = Decimal(0)
    return share if held.hydroquinone else nothing, share if held.metol_base else nothing


def _moles(g_per_l: Mapping[str, Decimal], among: Mapping[str, tuple[Decimal, int]]) -> Decimal:
    return sum((g_per_l[cas] / mass * count for cas, (mass, count) in among.items() if cas in g_per_l), Decimal(0))


def _bare(ph: float, pka: float) -> float:
    return 1 / (1 + 10 ** (pka - ph))
