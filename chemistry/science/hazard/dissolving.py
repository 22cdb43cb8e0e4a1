"""What turns into something else in water, in grams per litre before and after."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from chemistry.science.hazard.composition import Weighed
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.table import Table

BORIC_OXIDE, BORIC_ACID, METABORATE = "1303-86-2", "10043-35-3", "7775-19-1"
HYDROXIDE, METABISULFITE, BISULFITE = "1310-73-2", "7681-57-4", "7631-90-5"


def dissolve(rows: Sequence[Weighed], table: Table) -> tuple[tuple[Weighed, ...], tuple[str, ...]]:
    """Return what is in the water and one sentence for each change, in g/l.

    B2O3 + 3 H2O -> 2 H3BO3 (x 1.776); NaOH + H3BO3 -> NaBO2 + 2 H2O, the scarcer one used up. Metabisulfite becomes
    bisulfite (x 1.095), which is said but not counted: the solid's stricter class stays. Source: molar masses.
    """
    found = {each.substance.cas: each for each in rows}
    words: list[str] = []
    if BORIC_OXIDE in found:
        words.append(_boric_oxide(found, table))
    if HYDROXIDE in found and BORIC_ACID in found:
        words.append(_neutralise(found, table))
    if METABISULFITE in found:
        words.append(_bisulfite(found[METABISULFITE], table))
    return tuple(found[number] for number in sorted(found)), tuple(words)


def _boric_oxide(found: dict[str, Weighed], table: Table) -> str:
    oxide = found.pop(BORIC_OXIDE)
    factor = 2 * _molar(table, BORIC_ACID) / _molar(table, BORIC_OXIDE)
    acid = Weighed(table.substances[BORIC_ACID], oxide.low * factor, oxide.high * factor)
    _add(found, acid)
    return f"Boric oxide turns into boric acid: {shown(oxide.high)} g become {shown(acid.high)} g (x {shown(factor)})."


def _neutralise(found: dict[str, Weighed], table: Table) -> str:
    """Use up hydroxide and boric acid mole for mole; each remainder is bounded over the ranges of both."""
    base, acid = found[HYDROXIDE], found[BORIC_ACID]
    per_base, per_acid = _molar(table, HYDROXIDE), _molar(table, BORIC_ACID)
    least = min(base.low / per_base, acid.low / per_acid)
    most = min(base.high / per_base, acid.high / per_acid)
    _keep(found, base, _left(base.low, acid.high, per_base / per_acid), _left(base.high, acid.low, per_base / per_acid))
    _keep(found, acid, _left(acid.low, base.high, per_acid / per_base), _left(acid.high, base.low, per_acid / per_base))
    borate = _molar(table, METABORATE)
    _add(found, Weighed(table.substances[METABORATE], least * borate, most * borate))
    return (
        f"Sodium hydroxide is consumed by boric acid: up to {shown(most * per_base)} g of it make"
        f" {shown(most * borate)} g of sodium metaborate; what is left over is counted as it is."
    )


def _left(own: Fraction, other: Fraction, per_other: Fraction) -> Fraction:
    return max(own - other * per_other, Fraction(0))


def _keep(found: dict[str, Weighed], row: Weighed, low: Fraction, high: Fraction) -> None:
    if high > 0:
        found[row.substance.cas] = replace(row, low=low, high=high)
    else:
        del found[row.substance.cas]


def _add(found: dict[str, Weighed], row: Weighed) -> None:
    known = found.get(row.substance.cas)
    low, high = (known.low, known.high) if known else (Fraction(0), Fraction(0))
    found[row.substance.cas] = replace(row, low=low + row.low, high=high + row.high)


def _bisulfite(row: Weighed, table: Table) -> str:
    factor = 2 * _molar(table, BISULFITE) / _molar(table, METABISULFITE)
    after = shown(row.high * factor)
    return f"Metabisulfite turns into bisulfite: {after} g; it is still counted as metabisulfite, the stricter class."


def _molar(table: Table, number: str) -> Fraction:
    """Return the molar mass in g/mol; the table that ships has one for each of these."""
    molar = table.substances[number].molar_mass
    if molar is None:
        raise ValueError(f"{number} has no molar mass")
    return molar
