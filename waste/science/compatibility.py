"""May two kinds of waste meet: the reaction by its name where one is known, the group chart where none is.

Named reactions come first, because the chart has no class for acid on sulfite (sulfur dioxide) nor for ammonium with
hypochlorite (chloramines). A cell the chart leaves blank says that nothing was written there, never that it is safe.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent.parent / "data" / "reactions.json"
READ, FROM_MEMORY = "read", "from memory"
WATER = 106
CODES = ("H", "F", "G", "GT", "GF", "E", "P", "S", "U")  # the order in which an answer lists them
FORBIDDING = frozenset({"F", "GT", "GF", "E", "P", "U"})  # what the chart forbids alone; heat and spreading ask first
DEFER = (
    "Judged by kind of waste, not tested. The suppliers' safety data sheets, the waste contractor and local rules "
    "prevail; where in doubt, keep liquids apart."
)


class Verdict(StrEnum):
    """What the service does about it: lets it pass, asks for a spoken acknowledgement, refuses."""

    MEET = "meet"
    CAUTION = "caution"
    NEVER = "never"


class Grade(StrEnum):
    """How bad it is. ``separate`` and ``never`` both forbid; ``never`` gives off something that hurts people."""

    OK = "ok"
    CAUTION = "caution"
    SEPARATE = "separate"
    NEVER = "never"


VERDICTS = {
    Grade.OK: Verdict.MEET,
    Grade.CAUTION: Verdict.CAUTION,
    Grade.SEPARATE: Verdict.NEVER,
    Grade.NEVER: Verdict.NEVER,
}
ADVICE = {
    Grade.OK: "",
    Grade.CAUTION: "Ask whoever answers for the waste before pouring, and say so when you pour.",
    Grade.SEPARATE: "Keep them in containers of their own.",
    Grade.NEVER: "They must never meet. If they have: leave the room, air it, fetch help, do not reach in.",
}


@dataclass(frozen=True)
class Cell:
    """One cell of the chart: two group numbers, its codes, and whether it was read or is from memory."""

    groups: tuple[int, int]
    codes: tuple[str, ...]
    status: str


@dataclass(frozen=True)
class Kind:
    """A kind of waste and the chart groups it falls in; ``judged_as`` names the kinds it is judged as instead."""

    code: str
    name: str
    groups: tuple[int, ...]
    basis: str
    aqueous: bool
    judged_as: tuple[str, ...] = ()


@dataclass(frozen=True)
class Meeting:
    """What happens when two kinds meet. ``reaction`` is its name, ``effect`` what comes of it, in formulas.

    ``known`` is False where a kind is none that is kept here. ``source`` and ``status`` are of the judgement; every
    cell of the chart carries its own.
    """

    liquid: str
    held: str
    grade: Grade
    reaction: str
    effect: str
    words: str
    codes: tuple[str, ...] = ()
    cells: tuple[Cell, ...] = ()
    source: str = ""
    status: str = FROM_MEMORY
    known: bool = True

    @property
    def verdict(self) -> Verdict:
        """Say what the service does about it."""
        return VERDICTS[self.grade]

    @property
    def rank(self) -> int:
        """Return how bad it is as a number, from 0 up, by which meetings are compared."""
        return list(Grade).index(self.grade)

    @property
    def says(self) -> str:
        """Return the whole warning: what happens, and what to do."""
        return " ".join(part for part in (self.words, ADVICE[self.grade]) if part)


def judge(liquid: str, held: str | None) -> Meeting:
    """Judge a liquid of one kind meeting what a container holds or last held; None is a container that never held any.

    Kinds are the codes of the starter streams and a few more, such as ``hypochlorite``. The order does not matter. A
    kind that is not kept here may meet only itself. Source: ``waste/data/reactions.json``, each row with its own.
    """
    if held is None:
        return Meeting(liquid, "", Grade.OK, "", "", "The container has held nothing yet.")
    if liquid == held:
        return _alike(liquid)
    unknown = [code for code in (liquid, held) if code not in kinds()]
    if unknown:
        words = f"Nothing is kept here about how {unknown[0]} meets anything else, and that is not a yes."
        return Meeting(liquid, held, Grade.SEPARATE, "", "", words, known=False)
    own = frozenset((liquid, held)) in _named()
    sides = [(liquid, held)] if own else product(*(kinds()[code].judged_as or (code,) for code in (liquid, held)))
    found = max((_pair(one, other) for one, other in sides), key=lambda each: each.rank)
    codes, cells = chart(kinds()[liquid], kinds()[held])
    parts = (found.grade, found.reaction, found.effect, found.words, codes, cells, found.source, found.status)
    return Meeting(liquid, held, *parts)


def worst(liquid: str, held: Iterable[str]) -> Meeting:
    """Judge a liquid meeting everything a container holds or last held, and return the worst meeting."""
    return max((judge(liquid, each) for each in held), key=lambda each: each.rank, default=judge(liquid, None))


def chart(one: Kind, other: Kind) -> tuple[tuple[str, ...], tuple[Cell, ...]]:
    """Return the codes and cells the chart has for two kinds.

    Its cells of acids or reducers with water speak of concentrates meeting water; they are passed over where the liquid
    is one already made up with water.
    """
    found = [cell for pair in product(one.groups, other.groups) if (cell := _cells().get(frozenset(pair)))]
    kept = tuple(dict.fromkeys(cell for cell in found if not _is_dilution(cell, one, other)))
    said = {code for cell in kept for code in cell.codes}
    return tuple(code for code in CODES if code in said), kept


def cell(one: int, other: int) -> Cell | None:
    """Return the chart's cell for two groups, or None for a blank, which is never a yes."""
    return _cells().get(frozenset((one, other)))


def meaning(code: str) -> str:
    """Return what a code of the chart stands for."""
    return str(_data()["codes"][code])


@cache
def kinds() -> dict[str, Kind]:
    """Return the kinds of waste that something is known about, by code."""
    return {
        code: Kind(
            code, row["name"], tuple(row["groups"]), row["basis"], row["aqueous"], tuple(row.get("judged_as", ()))
        )
        for code, row in _data()["kinds"].items()
    }


def _alike(code: str) -> Meeting:
    row = _data()["alike"].get(code)
    if row:
        return Meeting(code, code, Grade(row["grade"]), "", "", row["words"], source=_sources()["pairs"])
    words = "Both are the same kind of waste."
    return Meeting(code, code, Grade.OK, "", "", words, source=_sources()["pairs"], known=code in kinds())


def _pair(one: str, other: str) -> Meeting:
    if one == other:
        return _alike(one)
    row = _named().get(frozenset((one, other)))
    if row:
        told = (row["reaction"], row["effect"], row["words"])
        return Meeting(one, other, Grade(row["grade"]), *told, source=_sources()["pairs"])
    codes, cells = chart(kinds()[one], kinds()[other])
    if not codes:
        words = "No reaction is written down here and the group chart is blank, which does not make it safe."
        return Meeting(one, other, Grade.CAUTION, "", "", words, source=_sources()[READ], status=READ)
    effects = ", ".join(meaning(code) for code in codes)
    grade = Grade.NEVER if FORBIDDING & set(codes) else Grade.CAUTION
    status = READ if all(each.status == READ for each in cells) else FROM_MEMORY
    words = f"The group chart warns of: {effects}."
    return Meeting(one, other, grade, effects, "", words, source=_sources()[status], status=status)


def _is_dilution(found: Cell, one: Kind, other: Kind) -> bool:
    if WATER not in found.groups or not {1, 2, 105} & set(found.groups):
        return False
    return all(kind.aqueous for kind in (one, other))


def _sources() -> dict[str, str]:
    sources: dict[str, str] = _data()["sources"]
    return sources


@cache
def _named() -> dict[frozenset[str], dict[str, str]]:
    return {frozenset(row["kinds"]): row for row in _data()["pairs"]}


@cache
def _cells() -> dict[frozenset[int], Cell]:
    rows = _data()["cells"]
    return {
        frozenset(row["groups"]): Cell((row["groups"][0], row["groups"][1]), tuple(row["codes"]), row["status"])
        for row in rows
    }


@cache
def _data() -> dict[str, Any]:
    read: dict[str, Any] = json.loads(DATA.read_text(encoding="utf-8"))
    return read
