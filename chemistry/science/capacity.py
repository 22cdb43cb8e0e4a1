"""Capacity: how many roll units a vessel may still do, by its way of use; film and paper never share a figure.

A one-shot tank has no figure here, ``stock`` judges it; a replenished vessel counts turnovers instead.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from chemistry.science.dilution import Dilution
from chemistry.science.formula import Capacity, Material, Rules, Use


@dataclass(frozen=True)
class CapacityVerdict:
    """``left`` and ``total`` are roll units before this load; ``left`` is below zero where more was reported."""

    ok: bool
    left: Fraction
    total: Fraction
    code: str = ""
    reason: str = ""
    offers: tuple[str, ...] = ()


def counted(use: Use) -> bool:
    """Say whether a way of use is limited by this table: reuse and trays are, one-shot and replenished are not."""
    return use in {Use.REUSE, Use.TRAY}


def find(rules: Rules, material: Material, use: Use, dilution: Dilution | str) -> Capacity | None:
    """Return the formula's figure for this material, way of use and dilution, or None where it promises nothing."""
    asked = (material, use, str(dilution))
    return next((each for each in rules.capacity if (each.material, each.use, each.dilution) == asked), None)


def total(capacity: Capacity, basis_ml: Decimal, compensated: bool) -> Fraction:
    """Return rolls per litre x litres, in roll units; common practice, the source stands beside each figure.

    ``basis_ml`` (0 or more) is what the vessel held when its load was nought: what clings to film takes nothing off.
    With ``compensated`` longer times are given, and the formula's higher figure holds if it has one.
    """
    if not (basis_ml.is_finite() and basis_ml >= 0):
        raise ValueError("a volume is a number of millilitres, 0 or more")
    figure = capacity.compensated if compensated and capacity.compensated is not None else capacity.rolls_per_litre
    return Fraction(figure) * Fraction(basis_ml) / 1000


def left(capacity: Capacity, basis_ml: Decimal, load: Fraction, held: Fraction, compensated: bool) -> Fraction:
    """Return total - load - held, in roll units: what may still be planned; below zero after an overrun."""
    return total(capacity, basis_ml, compensated) - load - held


def judge(
    load_before: Fraction,
    held: Fraction,
    load_new: Fraction,
    basis_ml: Decimal,
    capacity: Capacity | None,
    *,
    compensate: bool,
) -> CapacityVerdict:
    """Judge load before + held by plans + new load <= rolls per litre x litres, in roll units, exact arithmetic."""
    if load_new <= 0 or load_before < 0 or held < 0:
        raise ValueError("a new load is above zero, a recorded one zero or more")
    if capacity is None:
        reason = "The formula gives no capacity for this use: not for this material, strength and way of use."
        ways = ("a one-shot tank", "a vessel used in a way the formula gives a figure for")
        return CapacityVerdict(False, Fraction(0), Fraction(0), "capacity.not_promised", reason, ways)
    most, rest = total(capacity, basis_ml, compensate), left(capacity, basis_ml, load_before, held, compensate)
    if load_new <= rest:
        return CapacityVerdict(True, rest, most)
    reason = f"{_words(rest)} of {_words(most)} roll units are left here and this load is {_words(load_new, ceil)}."
    longer = load_new <= left(capacity, basis_ml, load_before, held, compensated=True)
    offers = (
        *([f"at most {_words(rest)} roll units here"] if rest > 0 else []),
        *(["this load, with the time lengthened for reuse"] if longer else []),
        "another vessel with capacity left",
    )
    return CapacityVerdict(False, rest, most, "capacity.exhausted", reason, offers)


def _words(units: Fraction, to_cent: Callable[[Fraction], int] = floor) -> str:
    """Show two decimals: what is left rounded down, a load up, so that nobody is promised more than there is."""
    return f"{Decimal(to_cent(max(units, Fraction(0)) * 100)).scaleb(-2).normalize():f}"
