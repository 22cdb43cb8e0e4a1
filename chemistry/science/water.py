"""Water of a wanted temperature from what the room has: cold tap, hot tap, kettle, ice."""

from dataclasses import dataclass
from decimal import Decimal

KETTLE_C = Decimal(100)
MELTING_K = Decimal("79.7")  # heat of fusion 333.55 J/g over 4.186 J/(g K): a gram of ice cools like water at -79.7 °C
_STEP = Decimal("0.1")
_KELL = (  # water density, kg/m3: a polynomial in °C over (1 + 0.01687985 t)
    Decimal("999.83952"),
    Decimal("16.945176"),
    Decimal("-0.0079870401"),
    Decimal("-0.000046170461"),
    Decimal("1.0556302E-7"),
    Decimal("-2.8054253E-10"),
)


@dataclass(frozen=True)
class Blend:
    """What to pour, as (source, mL); ice counts as the water it melts to. Infeasible: the reason and what would do."""

    parts: tuple[tuple[str, Decimal], ...]
    feasible: bool
    reason: str = ""
    offers: tuple[str, ...] = ()


def blend(
    volume_ml: Decimal, target_c: Decimal, hot_c: Decimal, cold_c: Decimal, *, kettle: bool = False, ice: bool = False
) -> Blend:
    """Volumes of the two sources next above and below the target: V_warm = V (T - T_cool) / (T_warm - T_cool).

    Equal heat capacity, no loss to the jug; a kettle gives 100 °C, a gram of ice counts as a millilitre at -79.7 °C.
    Valid for targets 0-100 °C; parts to 0.1 mL, their sum exact. Source: heat balance; heat of fusion from memory.
    """
    sources = [("cold tap", cold_c), ("hot tap", hot_c)]
    if kettle:
        sources.append(("kettle", KETTLE_C))
    if ice and target_c >= 0:
        sources.append(("ice", -MELTING_K))
    cooler = [source for source in sources if source[1] <= target_c]
    warmer = [source for source in sources if source[1] >= target_c]
    if not cooler or not warmer:
        return _impossible(volume_ml, target_c, hot_c, cold_c)
    return Blend(_pair(volume_ml, target_c, max(cooler, key=_celsius), min(warmer, key=_celsius)), feasible=True)


def density(water_c: Decimal) -> Decimal:
    """Density of water in kg/m3. Valid 0-100 °C. Source: Kell 1975, from memory; 998.20 at 20 °C, 988.04 at 50 °C."""
    total = sum((factor * water_c**power for power, factor in enumerate(_KELL)), Decimal(0))
    return total / (1 + Decimal("0.01687985") * water_c)


def short_of_mark(made_up_c: Decimal, mark_c: Decimal) -> Decimal:
    """Share by which liquid filled to the mark at ``made_up_c`` falls short at ``mark_c``: 1 - d(made up)/d(mark).

    0.0102 for 50 °C against 20 °C; below 0 when made up colder. Valid 0-100 °C. Source: density of water.
    """
    return (1 - density(made_up_c) / density(mark_c)).quantize(Decimal("0.0001"))


def _celsius(source: tuple[str, Decimal]) -> Decimal:
    return source[1]


def _pair(
    volume_ml: Decimal, target_c: Decimal, cool: tuple[str, Decimal], warm: tuple[str, Decimal]
) -> tuple[tuple[str, Decimal], ...]:
    if cool[1] == warm[1]:
        return ((cool[0], volume_ml),)
    warm_ml = (volume_ml * (target_c - cool[1]) / (warm[1] - cool[1])).quantize(_STEP)
    return tuple(part for part in ((warm[0], warm_ml), (cool[0], volume_ml - warm_ml)) if part[1] > 0)


def _impossible(volume_ml: Decimal, target_c: Decimal, hot_c: Decimal, cold_c: Decimal) -> Blend:
    if not 0 <= target_c <= KETTLE_C:
        return Blend((), False, f"{target_c} °C is not liquid water", ("choose a temperature between 0 and 100 °C",))
    if target_c > hot_c:
        would = blend(volume_ml, target_c, hot_c, cold_c, kettle=True)
        return Blend((), False, "target above hot supply", (f"boil a kettle: {_words(would)}",))
    would = blend(volume_ml, target_c, hot_c, cold_c, ice=True)
    work = f"work at {min(hot_c, cold_c)} °C with the time for that, if the formula allows"
    offers = (f"cool with ice: {_words(would)}", work)
    return Blend((), False, "target below cold supply", offers)


def _words(would: Blend) -> str:
    return " and ".join(f"{ml} {'g of ice' if name == 'ice' else f'mL from the {name}'}" for name, ml in would.parts)
