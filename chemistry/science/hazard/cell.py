"""Every cell of the substance table in words, each with its source and whether anybody has read it there."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.origin import Origin
from chemistry.science.hazard.substance import Substance
from chemistry.science.hazard.table import Table


@dataclass(frozen=True)
class Cell:
    """One value: what it is about, which cell, the value in words, and where it comes from."""

    about: str
    cell: str
    value: str
    origin: Origin


def of_substance(substance: Substance) -> Iterator[Cell]:
    """Yield the cells of one substance that state a source."""
    for name, origin in substance.origins.items():
        yield Cell(substance.name, name, _words(getattr(substance, name)), origin)
    for cell in fields(substance):
        value = getattr(substance, cell.name)
        for each in value if isinstance(value, tuple) else (value,):
            stated = getattr(each, "origin", None)
            if is_dataclass(each) and isinstance(stated, Origin):
                yield Cell(substance.name, cell.name, _described(each), stated)


def in_air(table: Table, number: str) -> Iterator[Cell]:
    """Yield the limits in air of a CAS number; '' stands for dust of any kind."""
    agent = table.agent(number)
    for each in agent.limits if agent else ():
        of_what = f" of its {each.fraction} part" if each.fraction else ""
        value = f"{each.value} {each.unit}, {each.kind}{of_what}"
        yield Cell(agent.name if agent else "", f"limit in air, {each.body}", value, each.origin)


def every(table: Table) -> Iterator[Cell]:
    """Yield every cell of every substance, then every limit in air."""
    for substance in table.substances.values():
        yield from of_substance(substance)
    for number in table.agents:
        yield from in_air(table, number)


def _described(row: Any) -> str:
    parts = [getattr(row, each.name) for each in fields(row) if each.name != "origin"]
    return ", ".join(_words(each) for each in parts if each not in (None, "", False))


def _words(value: Any) -> str:
    if isinstance(value, Fraction | Decimal):
        return str(shown(value, 5))
    if isinstance(value, frozenset | tuple):
        return ", ".join(sorted(map(str, value))) or "none"
    return str(getattr(value, "code", value))
