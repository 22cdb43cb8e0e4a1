"""The substance table: read once, looked up by CAS number, changed for one darkroom only with a stated source."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any

from chemistry.science.hazard import cas
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.origin import How, Origin
from chemistry.science.hazard.reading import Resolve, TableFault, read_agent, read_fields, read_substance
from chemistry.science.hazard.substance import Agent, Substance

LONGEST_SOURCE = 300
EXPOSURE = "exposure"
UNSTATED = ("cas", "origins")
# What a list of classes does not tell: acute toxicity is a cell of its own, by route.
UNTOLD = frozenset({Endpoint.ACUTE_ORAL, Endpoint.ACUTE_DERMAL, Endpoint.ACUTE_DUST})


@dataclass(frozen=True, eq=False)
class Table:
    """Every substance by CAS number, the agents with limits in air, and which substances a darkroom has changed."""

    substances: Mapping[str, Substance]
    agents: Mapping[str, Agent]
    overridden: Mapping[str, str] = field(default_factory=dict)

    def find(self, number: str) -> Substance | None:
        """Return the substance of a CAS number, None for one that is not in the table."""
        return self.substances.get(number)

    def agent(self, number: str) -> Agent | None:
        """Return the limits in air for a CAS number; '' stands for dust of any kind."""
        return self.agents.get(number)


@cache
def standard() -> Table:
    """Return the table that ships, read once."""
    return read(json.loads(files("chemistry").joinpath("data/substances.json").read_text(encoding="utf-8")))


def read(data: Mapping[str, Any]) -> Table:
    """Read a whole table of sources, substances and agents; TableFault when a CAS number or a cell is wrong."""
    sources = {key: Origin(row["title"], How(row["how"]), row["address"]) for key, row in data["sources"].items()}

    def resolve(row: Mapping[str, Any], key: str) -> Origin:
        return sources[row[key]]

    found = [read_substance(row, resolve) for row in data["substances"]]
    substances = {each.cas: each for each in found}
    for each in found:
        _check_cas(each.cas)
    if len(substances) != len(found):
        raise TableFault("substance.twice", "A CAS number stands twice in the table.")
    return Table(substances, {row["cas"]: read_agent(row, resolve) for row in data["agents"]})


def override(base: Table, rows: Sequence[Mapping[str, Any]]) -> Table:
    """Return the table as a darkroom uses it: each row replaces whole cells of one substance and states its source.

    A CAS number that is not in the table adds a substance, which then needs a name and its classes (an empty list
    says: not classified, by that source); its acute toxicity is not known until somebody tells it, if only as an empty
    list. ``exposure`` replaces the limits in air; they are never taken away.
    """
    substances, agents, changed = dict(base.substances), dict(base.agents), dict(base.overridden)
    for row in rows:
        number, origin = _check_cas(row.get("cas")), _stated(row)
        cells = read_fields({key: row[key] for key in row if key != EXPOSURE}, _always(origin))
        known = substances.get(number)
        if known is None and not {"name", "hazards"} <= set(cells):
            raise TableFault("override.incomplete", f"{number} is new here: give its name and its classes.")
        if known is None and "toxicity" not in cells:
            cells["no_data"] = cells.get("no_data", frozenset()) | UNTOLD
        cells["origins"] = {**(known.origins if known else {}), **_origins(cells, origin)}
        found = substances[number] = replace(known, **cells) if known else Substance(**cells)
        if EXPOSURE in row:
            _limit_in_air(agents, found, row[EXPOSURE], origin)
        changed[number] = origin.title
    return replace(base, substances=substances, agents=agents, overridden=changed)


def _limit_in_air(agents: dict[str, Agent], substance: Substance, limits: Any, origin: Origin) -> None:
    """Put these limits in place of what was known; what else is said of the agent, such as its molar mass, stays."""
    try:
        told = read_agent({"name": substance.name, "cas": substance.cas, "limits": limits}, _always(origin))
    except (KeyError, TypeError, AttributeError, ArithmeticError, ValueError) as fault:
        raise TableFault("substance.unreadable", f"{EXPOSURE} of {substance.cas}: {fault}") from fault
    known = agents.get(substance.cas, replace(told, molar_mass=_molar(substance)))
    if not told.limits:
        raise TableFault("exposure.empty", "Limits in air are replaced, never taken away: give those that hold.")
    if known.molar_mass is None and any(each.unit == "ppm" for each in told.limits):
        raise TableFault("exposure.without_mass", "A limit in ppm needs the molar mass of the substance.")
    agents[substance.cas] = replace(known, limits=told.limits)


def _molar(substance: Substance) -> Decimal | None:
    molar = substance.molar_mass
    return None if molar is None else Decimal(molar.numerator) / Decimal(molar.denominator)


def _origins(cells: Mapping[str, Any], origin: Origin) -> dict[str, Origin]:
    """State the source of each cell that has no rows to state it: also that something is not classified."""
    stated = (name for name, value in cells.items() if name not in UNSTATED and not _states_itself(value))
    return dict.fromkeys(stated, origin)


def _states_itself(value: Any) -> bool:
    return any(hasattr(each, "origin") for each in (value if isinstance(value, tuple) else (value,)))


def _always(origin: Origin) -> Resolve:
    return lambda _row, _key: origin


def _stated(row: Mapping[str, Any]) -> Origin:
    source = row.get("source")
    if not isinstance(source, str) or not 3 <= len(source.strip()) <= LONGEST_SOURCE:
        raise TableFault("override.without_source", "State where the value comes from, such as the sheet and its date.")
    return Origin(source.strip(), How.DARKROOM)


def _check_cas(number: object) -> str:
    if not isinstance(number, str) or cas.check_digit(number) is None:
        raise TableFault("cas.malformed", f"{str(number)[:40]} is not a CAS number; one looks like 123-31-9.")
    if not cas.is_sound(number):
        wanted = cas.check_digit(number)
        raise TableFault("cas.check_digit", f"{number} cannot be a CAS number: its last digit would be {wanted}.")
    return number
