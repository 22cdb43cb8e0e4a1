"""Kinds of waste: the starter set, the codes the law uses for them, and which liquid belongs where."""

import json
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent.parent / "data" / "streams.json"
LIST_CODE = re.compile(r"\d{2} \d{2} \d{2}\*?", re.ASCII)
UNIDENTIFIED = "unidentified"
ANY_PROCESS = "*"


@dataclass(frozen=True)
class Starter:
    """One stream to start from; ``takes`` are the (formula kind, process family) pairs whose spent liquid it is for."""

    code: str
    name: str
    list_code: str
    note: str
    source: str
    takes: tuple[tuple[str, str], ...]


@cache
def starters() -> dict[str, Starter]:
    """Return the starter streams by their code, in the order they are offered."""
    rows = [{**row, "takes": tuple((kind, process) for kind, process in row["takes"])} for row in _data()["streams"]]
    return {row["code"]: Starter(**row) for row in rows}


def title(list_code: str) -> str:
    """Return the English title of a List of Waste entry, or nothing for an entry that is not kept here."""
    return str(_data()["list_of_waste"]["titles"].get(list_code, ""))


def is_list_code(text: str) -> bool:
    """Say whether a text is spelled as a List of Waste code is: ``09 01 04*``."""
    return LIST_CODE.fullmatch(text) is not None


def is_hazardous(list_code: str) -> bool:
    """Say whether a List of Waste code is of hazardous waste: those end in an asterisk (Decision 2000/532/EC)."""
    return list_code.endswith("*")


def sort_of(formula_kind: str, process: str) -> str | None:
    """Return the starter stream that a formula's spent liquid belongs to, or None where its kind does not tell.

    A toner does not: selenium and sulfide toner must never meet, so the person who pours has to say.
    """
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
def _data() -> dict[str, Any]:
    read: dict[str, Any] = json.loads(DATA.read_text(encoding="utf-8"))
    return read
