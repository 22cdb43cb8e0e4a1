"""The substance table in from plain JSON: closed keys, figures as decimal strings, every cell with its source."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from chemistry.science.hazard import category
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.figure import decimal, percent, positive
from chemistry.science.hazard.origin import Origin
from chemistry.science.hazard.substance import (
    Agent,
    Aquatic,
    Band,
    Exposure,
    Flag,
    Gas,
    Hazard,
    Substance,
    Toxicity,
)  # fmt: skip

Resolve = Callable[[Mapping[str, Any], str], Origin]
ACUTE_CATEGORIES = range(1, 5)


class TableFault(ValueError):
    """A row of the substance table cannot be read; ``code`` is ``noun.adjective``, the message says what is allowed."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code


def read_fields(row: Mapping[str, Any], resolve: Resolve) -> dict[str, Any]:
    """Return the ``Substance`` fields one row of JSON sets; keys that are not of the grammar are refused."""
    unknown = sorted(set(row) - set(_CELLS) - {"source"})
    if unknown:
        allowed = ", ".join(sorted(_CELLS))
        raise TableFault("substance.unknown_key", f"{', '.join(unknown)} is not a cell of a substance; use {allowed}.")
    found: dict[str, Any] = {}
    origins: dict[str, Origin] = {}
    for key in (each for each in row if each != "source"):
        name, read = _CELLS[key]
        try:
            found[name] = read(row[key], resolve)
        except (KeyError, TypeError, AttributeError, ArithmeticError, ValueError) as fault:
            raise TableFault("substance.unreadable", f"{key} of {row.get('cas', 'the substance')}: {fault}") from fault
        if isinstance(row[key], Mapping) and key != "gas":
            origins[name] = resolve(row[key], "source")
    return {**found, "origins": origins}


def read_agent(row: Mapping[str, Any], resolve: Resolve) -> Agent:
    """Return an agent with its limits in air; ValueError or KeyError when a row is malformed."""
    molar = row.get("molar_mass")
    return Agent(
        row["name"], row["cas"], tuple(_exposure(each, resolve) for each in row["limits"]),
        decimal(molar) if molar else None, decimal(row.get("counted_share", "1")),
    )  # fmt: skip


def _exposure(row: Mapping[str, Any], resolve: Resolve) -> Exposure:
    if row["kind"] not in ("mean", "short", "ceiling") or row["unit"] not in ("mg/m3", "ppm"):
        raise TableFault("limit.unreadable", "a limit is mean, short or ceiling, in mg/m3 or ppm")
    value, origin = decimal(row["value"]), resolve(row, "source")
    return Exposure(row["body"], row["kind"], value, row["unit"], row["minutes"], origin, row.get("fraction", ""))


def _text(value: Any, _: Resolve) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ValueError("needs words")
    return value


def _count(value: Any, _: Resolve) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 20:
        raise ValueError("needs a whole number from 1 to 20")
    return value


def _cell_text(cell: Any, resolve: Resolve) -> str:
    return _text(cell["value"], resolve)


def _cell_number(cell: Any, _: Resolve) -> Fraction:
    return positive(cell["value"])


def _plain_percent(cell: Any, _: Resolve) -> Fraction:
    return percent(cell["value"])


def _ph(cell: Any, _: Resolve) -> Decimal:
    return decimal(cell["value"])


def _yes(cell: Any, _: Resolve) -> bool:
    if cell["value"] not in ("yes", "no"):
        raise ValueError("needs yes or no")
    return bool(cell["value"] == "yes")


def _hazards(rows: Any, resolve: Resolve) -> tuple[Hazard, ...]:
    return tuple(_hazard(row, resolve) for row in rows)


def _hazard(row: Mapping[str, Any], resolve: Resolve) -> Hazard:
    known = _category(row)
    words = row.get("statement", known.statement)
    return Hazard(known, words, resolve(row, "source"), bool(row.get("self", False)))


def _category(row: Mapping[str, Any]) -> category.Category:
    code = row["class"]
    if code.startswith("Acute Tox.") or not category.is_known(code):
        raise ValueError(f"{code} is not a class kept here; acute toxicity goes under toxicity, by route")
    return category.category(code, row.get("statement", ""))


def _bands(rows: Any, resolve: Resolve) -> tuple[Band, ...]:
    return tuple(_band(row, resolve) for row in rows)


def _band(row: Mapping[str, Any], resolve: Resolve) -> Band:
    known = _category(row)
    start, end = percent(row["from"]), percent(row["below"]) if "below" in row else None
    if end is not None and end <= start:
        raise ValueError(f"the limits of {known.code} run backwards")
    return Band(known, row.get("statement", known.statement), start, end, resolve(row, "source"))


def _toxicities(rows: Any, resolve: Resolve) -> tuple[Toxicity, ...]:
    return tuple(_toxicity(row, resolve) for row in rows)


def _toxicity(row: Mapping[str, Any], resolve: Resolve) -> Toxicity:
    number = row.get("category")
    ate = positive(row["ate"]) if "ate" in row else None
    if number is None and ate is None:
        raise ValueError("acute toxicity needs a category, an estimate, or both")
    if number is not None and number not in ACUTE_CATEGORIES:
        raise ValueError("an acute category is 1 to 4")
    flags = bool(row.get("minimum", False)), bool(row.get("harmonised", False))
    return Toxicity(Endpoint(f"acute_{row['route']}"), number, ate, resolve(row, "source"), *flags)


def _gas(row: Any, resolve: Resolve) -> Gas:
    start = percent(row["from"]) if "from" in row else None
    origin = resolve(row, "from_source" if "from_source" in row else "source")
    return Gas(_text(row["name"], resolve), positive(row["moles"]), start, origin)


def _flags(rows: Any, resolve: Resolve) -> tuple[Flag, ...]:
    return tuple(Flag(_text(row["words"], resolve), resolve(row, "source")) for row in rows)


def _aquatic(rows: Any, resolve: Resolve) -> tuple[Aquatic, ...]:
    return tuple(Aquatic(row["test"], decimal(row["value"]), resolve(row, "source")) for row in rows)


def _supplements(rows: Any, _: Resolve) -> tuple[str, ...]:
    return tuple(row["code"] for row in rows)


def _endpoints(rows: Any, _: Resolve) -> frozenset[Endpoint]:
    return frozenset(Endpoint(each) for each in rows)


_CELLS: dict[str, tuple[str, Callable[[Any, Resolve], Any]]] = {
    "cas": ("cas", _text),
    "name": ("name", _text),
    "ec": ("ec", _cell_text),
    "index": ("index", _cell_text),
    "formula": ("formula", _text),
    "formula_holds": ("formula_holds", _count),
    "molar_mass": ("molar_mass", _cell_number),
    "hydrate_of": ("hydrate_of", _text),
    "waters": ("waters", _count),
    "classes": ("hazards", _hazards),
    "limits": ("bands", _bands),
    "toxicity": ("toxicity", _toxicities),
    "m_acute": ("m_acute", _cell_number),
    "m_chronic": ("m_chronic", _cell_number),
    "no_data": ("no_data", _endpoints),
    "summed_as": ("summed_as", _cell_text),
    "gas": ("gas", _gas),
    "extreme_ph_from": ("extreme_ph_from", _plain_percent),
    "non_additive": ("non_additive", _yes),
    "own_ph": ("own_ph", _ph),
    "volatile": ("volatile", _yes),
    "breathed_data": ("breathed_data", _yes),
    "supplements": ("supplements", _supplements),
    "aquatic": ("aquatic", _aquatic),
    "flags": ("flags", _flags),
}


def read_substance(row: Mapping[str, Any], resolve: Resolve) -> Substance:
    """Return one substance; a row needs at least cas and name."""
    found = read_fields(row, resolve)
    if not {"cas", "name"} <= set(found):
        raise TableFault("substance.nameless", "A substance needs a cas and a name.")
    return Substance(**found)
