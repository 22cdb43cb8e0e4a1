"""Kinds of waste: the starter set, the codes the law uses for them, and which liquid belongs where."""

import json
import re
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent.parent / "data"
LIST_CODE = re.compile(r"\d{2} \d{2} \d{2}\*?", re.ASCII)
US_CODE = re.compile(r"D0(?:0[1-9]|[123]\d|4[0-3])|[FK]\d{3}|[PU]\d{3}", re.ASCII)
UNIDENTIFIED = "unidentified"
CONTAMINATED_SOLIDS = "contaminated-solids"
HYPOCHLORITE = "hypochlorite"
ANY_PROCESS = "*"
# CAS numbers, from memory, of what decides where a liquid belongs whatever it is called; the worst first.
MARKERS = {
    "7681-52-9": HYPOCHLORITE,
    "7778-50-9": "dichromate-bleach",  # potassium dichromate
    "10588-01-9": "dichromate-bleach",  # sodium dichromate
    "1313-82-2": "sulfide-toner",  # sodium sulfide
    "37199-66-9": "sulfide-toner",  # potassium polysulfide
    "10102-18-8": "selenium-toner",  # sodium selenite
    "13746-66-2": "ferricyanide-bleach",  # potassium hexacyanoferrate(III)
}


@dataclass(frozen=True)
class Starter:
    """One stream to start from; ``takes`` are the (formula kind, process family) pairs whose spent liquid it is for."""

    code: str
    name: str
    list_code: str
    us_codes: tuple[str, ...]
    note: str
    source: str
    takes: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Listing:
    """One entry of a list the law uses, the list's version, and since when that holds; unknown to us: no title."""

    code: str
    title: str
    hazardous: bool
    list_version: str
    valid_from: date | None


@cache
def starters() -> dict[str, Starter]:
    """Return the starter streams by their code, in the order they are offered."""
    found = {}
    for row in _data("streams")["streams"]:
        pairs = {"takes": tuple((kind, process) for kind, process in row["takes"]), "us_codes": tuple(row["us_codes"])}
        found[row["code"]] = Starter(**{**row, **pairs})
    return found


def listing(list_code: str, day: date | None = None) -> Listing:
    """Return a List of Waste entry as the list read on a day (the newest kept here unless told)."""
    for each in reversed(_lists()):
        valid_from = date.fromisoformat(each["valid_from"])
        if day is None or valid_from <= day:
            known = next((row["title"] for row in each["entries"] if row["code"] == list_code), "")
            return Listing(list_code, known, is_hazardous(list_code), each["version"], valid_from)
    return Listing(list_code, "", is_hazardous(list_code), "", None)


def title(list_code: str) -> str:
    """Return the English title of a List of Waste entry, or nothing for an entry that is not kept here."""
    return listing(list_code).title


def us_title(code: str) -> str:
    """Return what a waste code of the United States stands for, or nothing for one that is not kept here."""
    rows = _data("listofwaste")["us_codes"]["codes"]
    return next((str(row["title"]) for row in rows if row["code"] == code), "")


def is_us_code(text: str) -> bool:
    """Say whether a text is spelled as a waste code of the United States is: D001 to D043, or F, K, P or U and digits.

    40 CFR 261 subparts C and D; the range of the D codes is from memory.
    """
    return US_CODE.fullmatch(text) is not None


def is_list_code(text: str) -> bool:
    """Say whether a text is spelled as a List of Waste code is: ``09 01 04*``."""
    return LIST_CODE.fullmatch(text) is not None


def is_hazardous(list_code: str) -> bool:
    """Say whether a List of Waste code is of hazardous waste: those end in an asterisk (Decision 2000/532/EC)."""
    return list_code.endswith("*")


def sort_of(formula_kind: str, process: str, cas: frozenset[str] = frozenset()) -> str | None:
    """Return the starter stream that a formula's spent liquid belongs to, or None where its kind does not tell.

    A toner does not, for selenium and sulfide toner must never meet; where ``cas`` numbers of what is in it are known,
    they tell. Otherwise the person who pours has to say.
    """
    if marked := next((code for number, code in MARKERS.items() if number in cas), None):
        return marked
    wanted = {(formula_kind, process), (formula_kind, ANY_PROCESS)}
    return next((each.code for each in starters().values() if wanted & set(each.takes)), None)


def belongs(liquid: str | None, container_sort: str, contents: int) -> bool:
    """Say whether a liquid of one sort may go into a container of another; None is a liquid nobody named.

    An unidentified liquid belongs only into an empty container of its own: two unknowns are never the same thing.
    """
    if liquid == UNIDENTIFIED:
        return container_sort == UNIDENTIFIED and contents == 0
    return liquid is None or liquid == container_sort


@cache
def _lists() -> list[dict[str, Any]]:
    return sorted(_data("listofwaste")["lists"], key=lambda each: str(each["valid_from"]))


@cache
def _data(name: str) -> dict[str, Any]:
    read: dict[str, Any] = json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))
    return read
