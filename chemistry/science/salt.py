"""Hydrates, solubility, and the warming or cooling when a salt dissolves."""

from dataclasses import dataclass
from decimal import Decimal

from chemistry.science.verdict import ALLOWED, Verdict, refused

WATER_HEAT = Decimal("4.18")  # J/(g K)
MOLAR_MASS = {  # g/mol; a hydrate is a different thing to weigh, so it has its own name
    "Na2CO3": Decimal("105.988"),
    "Na2CO3.H2O": Decimal("124.003"),
    "Na2CO3.10H2O": Decimal("286.141"),
    "Na2SO3": Decimal("126.043"),
    "Na2SO3.7H2O": Decimal("252.150"),
    "Na2S2O3": Decimal("158.108"),
    "Na2S2O3.5H2O": Decimal("248.184"),
    "Na2B4O7": Decimal("201.219"),
    "Na2B4O7.10H2O": Decimal("381.372"),
    "NaBO2": Decimal("65.800"),
    "NaBO2.4H2O": Decimal("137.861"),
}


@dataclass(frozen=True)
class Salt:
    """A substance by CAS number with (°C, g per 100 g water) points; ``heat`` is enthalpy of solution in kJ/mol."""

    name: str
    solubility: tuple[tuple[Decimal, Decimal], ...]
    formula: str = ""
    heat: Decimal = Decimal(0)
    own_heat: Decimal = Decimal(0)


def _points(*pairs: tuple[str, str]) -> tuple[tuple[Decimal, Decimal], ...]:
    return tuple((Decimal(celsius), Decimal(grams)) for celsius, grams in pairs)


# Solubilities and enthalpies from memory, except sulfite at 100 °C (IUPAC solubility series: 20.8 mass %).
SALTS = {
    "7757-83-7": Salt("sodium sulfite", _points(("0", "14"), ("20", "26.3"), ("33.4", "37"), ("100", "26.26"))),
    "123-31-9": Salt("hydroquinone", _points(("15", "5.8"), ("25", "7"))),
    "55-55-0": Salt("metol", _points(("25", "5"))),
    "1303-96-4": Salt("borax", _points(("20", "4.7"))),
    "497-19-8": Salt("sodium carbonate", _points(("20", "21.5")), "Na2CO3", Decimal("-26.7"), Decimal("1.06")),
    "10102-17-7": Salt("hypo crystals", _points(("20", "70")), "Na2S2O3.5H2O", Decimal("47.7"), Decimal("1.45")),
}


def swap_hydrate(grams: Decimal, have: str, wanted: str) -> Decimal:
    """Grams of ``wanted`` that hold as much salt as ``grams`` of ``have``: grams x M(wanted) / M(have).

    Both must be forms of one salt in ``MOLAR_MASS``, e.g. 'Na2CO3.H2O' -> 'Na2CO3' (x 0.855). Source: molar masses.
    """
    if have.partition(".")[0] != wanted.partition(".")[0]:
        raise ValueError(f"{have} and {wanted} are not forms of one salt")
    return grams * MOLAR_MASS[wanted] / MOLAR_MASS[have]


def solubility(cas: str, water_c: Decimal) -> Decimal | None:
    """Grams that dissolve in 100 g of water: straight lines between the points known, None outside knowledge.

    Above the last point that point's value holds, which is safe for all but sulfite; sulfite peaks at 33.4 °C and is
    known up to 100 °C. Valid 0-100 °C for pure water. Source: see ``SALTS``.
    """
    points = SALTS[cas].solubility if cas in SALTS else ()
    below = [point for point in points if point[0] <= water_c]
    above = [point for point in points if point[0] > water_c]
    if not below:
        return None
    if not above:
        return below[-1][1]
    (cold, less), (warm, more) = below[-1], above[0]
    return less + (more - less) * (water_c - cold) / (warm - cold)


def dissolves(cas: str, grams: Decimal, water_ml: Decimal, water_c: Decimal) -> Verdict:
    """Whether ``grams`` go into ``water_ml`` (taken as g) at ``water_c``: grams x 100 / water <= solubility.

    Yes when no figure is known. One salt at a time in pure water: others in the same water make it harder. Source:
    see ``SALTS``.
    """
    limit = solubility(cas, water_c)
    if limit is None or grams * 100 / water_ml <= limit:
        return ALLOWED
    enough = (grams * 100 / limit).quantize(Decimal(1))
    offers = [f"start with at least {enough} mL of water"]
    points = SALTS[cas].solubility
    best_c, best = max(points, key=lambda point: point[1])
    if best > limit:
        offers.append(f"bring the water to {best_c} °C, where most dissolves")
    most = f"{limit.quantize(Decimal('0.1'))} g in 100 mL at {water_c} °C"
    hotter = " Hotter water takes less of it." if water_c >= best_c and points[-1][1] < best else ""
    reason = f"{grams} g of {SALTS[cas].name} do not dissolve in {water_ml} mL: at most {most}.{hotter}"
    return refused("salt.insoluble", reason, *offers)


def temperature_change(cas: str, grams: Decimal, water_g: Decimal) -> Decimal:
    """Degrees the water warms (+) or cools (-) as a salt dissolves: -(grams/M) dH / (4.18 water + c grams).

    0 for salts without a figure. 240 g of hypo crystals in a litre: about -10; 67.5 g of carbonate: about +4. No heat
    lost to the jug. Source: enthalpies from memory (hypo +47 to +48, carbonate -26.7 kJ/mol).
    """
    salt = SALTS.get(cas)
    if salt is None or not salt.heat:
        return Decimal(0)
    joules = -grams / MOLAR_MASS[salt.formula] * salt.heat * 1000
    return (joules / (WATER_HEAT * water_g + salt.own_heat * grams)).quantize(Decimal("0.01"))


def acid_strength(
    acid_parts: Decimal,
    water_parts: Decimal,
    acid_density: Decimal = Decimal("1.049"),
    assay: Decimal = Decimal("0.995"),
) -> Decimal:
    """Acetic acid in % by weight after ``acid_parts`` of glacial go into ``water_parts``, by volume; never the reverse.

    3 + 8 gives the usual 28 %. Valid for parts above 0. Source: US Navy photography course, page 240 (3 + 8); glacial
    density 1.049 g/mL and assay 99.5 % from memory, water 0.998 g/mL.
    """
    acid = acid_parts * acid_density
    water = water_parts * Decimal("0.998")
    return (100 * acid * assay / (acid + water)).quantize(Decimal("0.01"))
