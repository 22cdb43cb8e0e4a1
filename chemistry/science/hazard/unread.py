"""Every value about hazards that nobody has read at its source, so that a person can go and read it."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from chemistry.science import air
from chemistry.science.hazard import limit, strength
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.origin import UNREAD, How, Origin
from chemistry.science.hazard.substance import Substance
from chemistry.science.hazard.table import Table, standard

_MEMORY = Origin("from memory", How.MEMORY)
# What stands in the rules as a table or as words and not as a limit of its own.
_IN_RULES = (
    ("M-factors", "acute: 1 for 0.1 to 1 mg/l, ten more for each decade below; only 0.002 and 0.9 mg/l were read"),
    ("skin corrosion", "1A before 1 before 1B before 1C in a mixture"),
    ("specific limits", "shares as fractions of their own limits add up to 1"),
    ("reproduction", "how the letters F and D of several ingredients are joined"),
    ("label", "the words of hazard and precautionary statements, which statement asks for which precaution"),
    ("label", "about six precautionary statements (CLP Article 28)"),
    ("acute toxicity", "UN GHS Category 5: its statements and signal word"),
    ("density", f"no darkroom concentrate is denser than {shown(strength.DENSEST)} kg/l"),
)


@dataclass(frozen=True)
class Unread:
    """A value nobody has read at its source: what it is about, which cell, the value, and why it is listed."""

    about: str
    cell: str
    value: str
    origin: Origin


def unread(table: Table | None = None) -> list[Unread]:
    """Return every value from memory or from a weak copy: substances, limits in air, limits of rules, constants."""
    table = table or standard()
    return [
        *(row for each in table.substances.values() for row in _of_substance(each)),
        *_in_air(table),
        *(Unread("rule", each.name, str(shown(each.value)), each.origin) for each in limit.unread()),
        *(Unread("rule", name, words, _MEMORY) for name, words in _IN_RULES),
        *(Unread("sulfur dioxide over a bath", name, str(value), _MEMORY) for name, value in air.FROM_MEMORY),
    ]


def _in_air(table: Table) -> Iterator[Unread]:
    for agent in table.agents.values():
        for each in agent.limits:
            if each.origin.how in UNREAD:
                value = f"{each.value} {each.unit}, {each.kind}"
                yield Unread(agent.name, f"limit in air, {each.body}", value, each.origin)


def _of_substance(substance: Substance) -> Iterator[Unread]:
    for name, origin in substance.origins.items():
        if origin.how in UNREAD:
            yield Unread(substance.name, name, _words(getattr(substance, name)), origin)
    for cell in fields(substance):
        value = getattr(substance, cell.name)
        for each in value if isinstance(value, tuple) else (value,):
            stated = getattr(each, "origin", None)
            if is_dataclass(each) and isinstance(stated, Origin) and stated.how in UNREAD:
                yield Unread(substance.name, cell.name, _described(each), stated)


def _described(row: Any) -> str:
    parts = [getattr(row, each.name) for each in fields(row) if each.name != "origin"]
    return ", ".join(_words(each) for each in parts if each not in (None, "", False))


def _words(value: Any) -> str:
    if isinstance(value, Fraction | Decimal):
        return str(shown(value, 5))
    return str(getattr(value, "code", value))
