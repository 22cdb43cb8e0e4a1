"""How long a film stays in: t = t0 x reuse x crowding x temperature x agitation x push, each factor shown."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import ceil, prod

from chemistry.science.formula import ReuseTime, Temperature, TimeRule
from chemistry.science.verdict import Verdict, refused

ONE = Decimal(1)
_FACTOR = Decimal("0.0001")
_MINUTE = Decimal("0.001")
_WORN_OUT = Decimal(10)
_REUSE_SHAPES = ("linear", "compound", "table")


@dataclass(frozen=True)
class Factor:
    """One multiplier of the base time and the fact it comes from."""

    name: str
    value: Decimal
    why: str


@dataclass(frozen=True)
class Time:
    """A development time: ``minutes`` is ``base_min`` times the factors exactly as shown."""

    base_min: Decimal
    factors: tuple[Factor, ...]
    minutes: Decimal
    warnings: tuple[str, ...] = ()


def time(
    rule: TimeRule,
    *,
    base_min: Decimal,
    load_before: Fraction,
    basis_ml: Decimal,
    rolls_in_tank: Fraction,
    dilution: str,
    temperature_c: Decimal,
    agitation: str | None = None,
    push: str | None = None,
    compensate: bool = False,
) -> Time | Verdict:
    """Minutes in the developer: t0 x reuse x crowding x temperature x agitation x push, to 0.001 min.

    ``load_before`` (roll units) and ``basis_ml`` (mL the vessel was filled with) are the vessel's *before* this tank,
    so all rolls of one tank share one factor. Factors are rounded to 0.0001 first, so the sum can be redone by hand.
    Valid inside the formula's temperature window; otherwise a Verdict says what would do. Source: common practice.
    """
    answers = (
        _reuse(rule.reuse, load_before, basis_ml) if compensate else Factor("reuse", ONE, "times are not compensated"),
        _crowding(rule.crowding.get(dilution, {}), rolls_in_tank, dilution),
        _temperature(rule.temperature, temperature_c),
        _named(rule.agitation, "agitation", agitation),
        _named(rule.push, "push", push),
    )
    answer = _multiply(base_min, answers)
    if isinstance(answer, Verdict):
        return answer
    return replace(answer, warnings=_warnings(rule, answer.minutes, rolls_in_tank, dilution))


def reuse_factor(rule: ReuseTime, load_before: Fraction, basis_ml: Decimal) -> Decimal:
    """Time ratio for a bath that has worked: x = rolls before / litres; linear 1 + p x, compound (1 + p)^x, or a table.

    ``p`` is the formula's share per roll per litre (0.10 for +10 %). A table gives the factor of the last row reached,
    1 before its first row. Valid for load >= 0 roll units and a basis above 0 mL; rolls per litre count up to 1000.
    Source: common practice, told in both shapes (10 min become 19.0 or 23.6 for the tenth roll).
    """
    rolls_per_litre = min(load_before * 1000 / Fraction(basis_ml), Fraction(1000))
    worked = _decimal(rolls_per_litre)
    if rule.shape == "linear":
        factor = ONE + rule.per_roll_per_litre * worked
    elif rule.shape == "compound":
        factor = (ONE + rule.per_roll_per_litre) ** worked
    elif rule.shape == "table":
        factor = max((row for row in rule.table if row[0] <= rolls_per_litre), default=(Decimal(0), ONE))[1]
    else:
        raise ValueError(f"reuse shape {rule.shape!r} is none of {', '.join(_REUSE_SHAPES)}")
    return min(factor, 1000 * ONE).quantize(_FACTOR)


def temperature_factor(rule: Temperature, temperature_c: Decimal) -> Decimal:
    """Time ratio coefficient^((reference - T) / per_degrees), °C; above 1 when colder than the reference.

    A coefficient is worth nothing without its span: 7 °C in old books, 10 °C for a Q10 (k7 = Q10^0.7, Ives 1920).
    Valid inside the formula's window, 16-27 °C for MQ (common practice); Q10 from memory: metol 1.3, MQ 1.9-2.5,
    hydroquinone 2.5-2.8.
    """
    return (rule.coefficient ** ((rule.reference_c - temperature_c) / rule.per_degrees)).quantize(_FACTOR)


def _multiply(base_min: Decimal, answers: Sequence[Factor | Verdict]) -> Time | Verdict:
    """The product of base and factors, or the first refusal."""
    if not (base_min.is_finite() and base_min > 0):
        return refused("time.not_positive", f"{base_min} min is no time.", "give the minutes for fresh developer")
    factors = []
    for answer in answers:
        if isinstance(answer, Verdict):
            return answer
        factors.append(answer)
    minutes = base_min * prod(factor.value for factor in factors)
    return Time(base_min, tuple(factors), minutes.quantize(_MINUTE))


def _reuse(rule: ReuseTime | None, load_before: Fraction, basis_ml: Decimal) -> Factor | Verdict:
    if rule is None:
        return refused(
            "time.no_reuse_rule",
            "This formula gives no times for developer that has worked before.",
            "take fresh developer and use it once",
            "follow the formula's plain capacity, without compensation",
        )
    if load_before < 0 or basis_ml <= 0:
        reason = f"A load of {load_before} rolls on {basis_ml} mL gives no rolls per litre."
        return refused("vessel.basis_unknown", reason, "record what the vessel was filled with and what it has done")
    factor, done = reuse_factor(rule, load_before, basis_ml), f"{_plain(load_before)} rolls on {basis_ml / 1000:f} L"
    if factor > _WORN_OUT:
        reason = f"After {done} this bath would need {factor:.0f} times its fresh time: it is worn out."
        return refused("vessel.worn_out", reason, "take fresh developer", "correct the vessel's load or filling")
    return Factor("reuse", factor, f"{done} before this tank, {rule.shape} rule")


def _crowding(table: Mapping[int, Decimal], rolls: Fraction, dilution: str) -> Factor:
    reached = [count for count in table if count <= ceil(rolls)]
    if not reached:
        return Factor("crowding", ONE, f"no change for {_plain(rolls)} rolls in the tank at {dilution}")
    value = table[max(reached)].quantize(_FACTOR)
    return Factor("crowding", value, f"{max(reached)} rolls share the tank at {dilution}; a test strip decides")


def _temperature(rule: Temperature | None, temperature_c: Decimal) -> Factor | Verdict:
    if rule is None:
        return Factor("temperature", ONE, "no rule: the base time holds only at the temperature it was made for")
    if not rule.lowest_c <= temperature_c <= rule.highest_c:
        window = f"{rule.lowest_c}-{rule.highest_c} °C"
        return refused(
            "temperature.outside",
            f"{temperature_c} °C is outside {window}, where this developer's times hold:"
            " colder, an agent stops working; warmer, the gelatine softens.",
            f"bring developer and film to {window} in a water bath",
        )
    span = f"x {rule.coefficient.quantize(_FACTOR).normalize():f} for each {rule.per_degrees} °C colder"
    why = f"{temperature_c} °C against {rule.reference_c} °C, {span}"
    return Factor("temperature", temperature_factor(rule, temperature_c), why)


def _named(table: Mapping[str, Decimal], name: str, choice: str | None) -> Factor | Verdict:
    if choice is None:
        return Factor(name, ONE, "as the base time assumes")
    if choice in table:
        return Factor(name, table[choice].quantize(_FACTOR), choice)
    offers = tuple(table) or (f"leave {name} out: the formula has one way only",)
    return refused(f"{name}.unknown", f"This formula gives no factor for {name} {choice!r}.", *offers)


def _warnings(rule: TimeRule, minutes: Decimal, rolls: Fraction, dilution: str) -> tuple[str, ...]:
    found = []
    if minutes < rule.shortest_min:
        found.append(
            f"Under {rule.shortest_min} min the developer may work unevenly (streaks, pale edges): choose a weaker"
            " dilution or a cooler bath inside the window, pour in at one go, and ask the technician for a test strip."
        )
    crowding = rule.crowding.get(dilution)
    if crowding and ceil(rolls) > max(crowding):
        found.append(
            f"The formula gives no factor for {_plain(rolls)} rolls in one tank at {dilution};"
            f" the one for {max(crowding)} is used and may be too short: run a test strip first."
        )
    return tuple(found)


def _decimal(number: Fraction) -> Decimal:
    return Decimal(number.numerator) / number.denominator


def _plain(number: Fraction) -> str:
    return f"{_decimal(number).quantize(Decimal('0.01')).normalize():f}"
