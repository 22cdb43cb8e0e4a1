"""The physical bound beside the date: what the oxygen let in could have done to the developing agent, at worst.

It never sets or shortens a date; it only says when to test first. It bounds the loss of hydroquinone, not the activity
of the bath, and leaves out cap leaks and the oxygen dissolved in the mixing water (0.284 mmol/L, negligible).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from chemistry.science.kinetics import GAS_CONSTANT, KELVIN

OXYGEN_SHARE = Decimal("0.2095")  # of dry air by volume
MOLAR_VOLUME_L = Decimal("24.465")  # ideal gas at 25 °C and 1 atm, where permeabilities are measured
HYDROQUINONE = Decimal("110.112")  # g/mol
SULFITE = Decimal("126.043")  # g/mol, anhydrous sodium sulfite
LITRE_BOTTLE_M2 = Decimal("0.065")  # wall area of a 1 L bottle, assumed
PERMEABILITY_UNIT = Decimal("0.0254") / Decimal("0.064516")  # 1 cm3 mil/(100 in2 day atm) in cm3 mm/(m2 day atm)
TEST_FIRST_LOSS = Decimal("0.10")
AIR_DAYS = Decimal(1)  # shut-in air is taken to have acted after a day: see ``dose``
_SHARE = Decimal("0.0001")


@dataclass(frozen=True)
class Wall:
    """A bottle's material: permeability to oxygen, low and high, in cm3 mil/(100 in2 day atm) at 25 °C."""

    low: Decimal
    high: Decimal
    wall_mm: Decimal


WALLS = {
    "glass": Wall(Decimal(0), Decimal(0), Decimal(3)),
    "steel": Wall(Decimal(0), Decimal(0), Decimal(1)),
    "hdpe": Wall(Decimal(100), Decimal(250), Decimal("1.0")),
    "pet": Wall(Decimal(3), Decimal(6), Decimal("0.4")),
}
UNKNOWN_WALL = Wall(Decimal(0), Decimal(250), Decimal("1.0"))  # from glass to the leakiest plastic


@dataclass(frozen=True)
class Opening:
    """The vessel was opened on ``day`` (days since it was filled) and closed again over ``contents_ml``.

    The filling itself is an opening: it shuts in the first headspace.
    """

    day: Decimal
    contents_ml: Decimal


@dataclass(frozen=True)
class Dose:
    """Oxygen taken up per litre of liquid in mmol/L: ``low`` and ``high`` by what the bottle's wall lets through."""

    low: Decimal = Decimal(0)
    high: Decimal = Decimal(0)


@dataclass(frozen=True)
class Bound:
    """Shares of the hydroquinone left, at best and at worst; ``test_first`` past a tenth of worst-case loss."""

    best_left: Decimal
    worst_left: Decimal
    test_first: bool


def oxygen_per_litre(
    air_c: Decimal = Decimal(20), pressure_kpa: Decimal = Decimal("101.325"), water_kpa: Decimal = Decimal(0)
) -> Decimal:
    """Oxygen in a litre of air in mmol: (P - p_water) V / (R T) x 0.2095; at 20 °C 8.71 dry, 8.51 at 2.339 kPa.

    Valid for ordinary rooms, 0-40 °C. Source: ideal gas.
    """
    return (pressure_kpa - water_kpa) * 1000 / (GAS_CONSTANT * (air_c + KELVIN)) * OXYGEN_SHARE


def hydroquinone_taken(oxygen_mmol: Decimal, per_oxygen: int = 1) -> Decimal:
    """Grams of hydroquinone that ``oxygen_mmol`` can take: 1 per O2 beside sulfite (monosulfonate), at most 2 without.

    Source: 1:1 from memory (James; Weissberger); 2:1 by electron count.
    """
    return oxygen_mmol * per_oxygen * HYDROQUINONE / 1000


def sulfite_taken(oxygen_mmol: Decimal) -> Decimal:
    """Grams of anhydrous sodium sulfite that ``oxygen_mmol`` can take: 2 SO3 per O2. Source: stoichiometry."""
    return oxygen_mmol * 2 * SULFITE / 1000


def wall_area(volume_ml: Decimal) -> Decimal:
    """Wall area in m2 of a bottle of ``volume_ml``: 0.065 (V / 1 L)^(2/3). Source: similarity to an assumed litre."""
    return LITRE_BOTTLE_M2 * (volume_ml / 1000) ** (Decimal(2) / 3)


def oxygen_through_wall(permeability: Decimal, wall_mm: Decimal, area_m2: Decimal) -> Decimal:
    """Oxygen through a bottle's wall in mmol/day: P x 0.3937 x area x 0.2095 atm / wall.

    ``permeability`` in cm3 mil/(100 in2 day atm) at 25 °C. Glass lets nothing through. Source: HDPE 100-250, PET 3-6
    in a packaging handbook's table (digilib.universitaspertamina.ac.id, page 368); walls and areas assumed.
    """
    cm3_per_day = permeability * PERMEABILITY_UNIT * area_m2 * OXYGEN_SHARE / wall_mm
    return cm3_per_day / MOLAR_VOLUME_L


def tray_uptake(area_m2: Decimal, k_m_per_s: Decimal = Decimal("0.00002")) -> Decimal:
    """Oxygen a still tray takes up in mmol per hour: k x 0.26 mol/m3 x area x 3600 s; rocking takes several times more.

    Source: film theory, k from memory (1e-5 to 5e-5 m/s); 0.26 mol/m3 is water in balance with air near 25 °C.
    """
    return k_m_per_s * Decimal("0.26") * area_m2 * 3600 * 1000


def alkali_factor(from_ph: Decimal, to_ph: Decimal) -> Decimal:
    """How many times faster hydroquinone oxidises at ``to_ph``: 2^((to - from)/1.2). Valid for pH 9.3-10.5.

    Source: abstract, qikan article 4000691225: twice as fast at pH 10.5 as at 9.3.
    """
    return Decimal(2) ** ((to_ph - from_ph) / Decimal("1.2"))


def days_to_loss(mmol_per_day: Decimal, volume_ml: Decimal, hydroquinone_g_per_l: Decimal, loss: Decimal) -> Decimal:
    """Days until ``loss`` (a share) of the hydroquinone could be gone through the wall alone, 1:1. Above 0 mmol/day."""
    at_start = hydroquinone_g_per_l * volume_ml / HYDROQUINONE  # mmol
    return loss * at_start / mmol_per_day


def dose(
    openings: Sequence[Opening], nominal_ml: Decimal, material: str, days: Decimal, start: Dose | None = None
) -> Dose:
    """Oxygen taken up so far, mmol per litre: each shut-in headspace in full, plus what the wall let through since.

    The sum over openings of 8.71 x headspace / contents, and over the days between them of permeation / contents;
    ``start`` is what the liquid brought along; ``days`` is the vessel's age now. An empty vessel takes up nothing; a
    material not in ``WALLS`` ranges from glass to the leakiest plastic. Air that is let out again within a day (four
    bottles filled from one drum) acts for its share of that day.
    Source: derived; every airful is taken to react completely, which is why it is a bound. The day is our choice, on
    the safe side of film theory: k 5e-5 m/s over 60 cm2, the neck-deep surface of a litre bottle, takes a quarter
    litre of air in some 8 hours if it never thins out.
    """
    before = start or Dose()
    wall, area = WALLS.get(material, UNKNOWN_WALL), wall_area(nominal_ml)
    daily = [oxygen_through_wall(p, wall.wall_mm, area) for p in (wall.low, wall.high)]
    ends = [*(opening.day for opening in openings[1:]), days]
    air, standing = Decimal(0), Decimal(0)
    for opening, end in zip(openings, ends, strict=False):
        if opening.contents_ml > 0:
            litres = opening.contents_ml / 1000
            stood = max(end - opening.day, Decimal(0))
            shut_in = oxygen_per_litre() * max(nominal_ml - opening.contents_ml, Decimal(0)) / 1000
            air += shut_in / litres * min(stood / AIR_DAYS, Decimal(1))
            standing += stood / litres
    return Dose(before.low + air + daily[0] * standing, before.high + air + daily[1] * standing)


def left(taken: Dose, hydroquinone_g_per_l: Decimal, sulfite_g_per_l: Decimal) -> tuple[Decimal, Decimal]:
    """Shares of hydroquinone left after a dose, best and worst, each between 0 and 1.

    Best: sulfite takes the oxygen as long as it lasts (2 per O2), then 1 hydroquinone per O2. Worst: 1 per O2 while
    there is sulfite, 2 per O2 after. The truth lies between. Source: a film-archive text (brianpritchard.com) says
    sulfite goes first; 1:1 from memory (James; Weissberger).
    """
    hydroquinone = hydroquinone_g_per_l * 1000 / HYDROQUINONE
    cover = sulfite_g_per_l * 1000 / SULFITE / 2
    best_loss = max(taken.low - cover, Decimal(0))
    worst_loss = taken.high + max(taken.high - cover, Decimal(0))
    best, worst = (max(1 - loss / hydroquinone, Decimal(0)).quantize(_SHARE) for loss in (best_loss, worst_loss))
    return best, worst


def bound(
    openings: Sequence[Opening],
    nominal_ml: Decimal,
    material: str,
    days: Decimal,
    hydroquinone_g_per_l: Decimal,
    *,
    sulfite_g_per_l: Decimal,
    start: Dose | None = None,
    worst_left_at_pass: Decimal = Decimal(1),
) -> Bound:
    """The range of hydroquinone left in a vessel with this draw history, and whether to test before use.

    Test first past 10 % of worst-case loss, counted from the last passed test (``worst_left_at_pass``): the strip has
    shown what the bound could only fear. Valid above 0 g/L of hydroquinone; a bath without it has no such bound.
    Source: derived; the 10 % is our choice, not a published limit.
    """
    best, worst = left(dose(openings, nominal_ml, material, days, start), hydroquinone_g_per_l, sulfite_g_per_l)
    return Bound(best, worst, worst_left_at_pass - worst > TEST_FIRST_LOSS)
