"""The two faces everything is set in, with their own widths, so that what is measured is what is drawn."""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent / "data"
MM_PER_POINT = 25.4 / 72
UNKNOWN = "\ufffd"
ELLIPSIS = "…"
# Characters that draw nothing and may turn a line round or hide a part of it, and lone surrogates.
DROPPED = {"Cc", "Cf"}
NEVER_DRAWN = {"Cs", "Co", "Cn"}
MARKS = {"Mn", "Me"}


class Weight(StrEnum):
    """Regular or bold; the value is the PDF library's letter for it."""

    REGULAR = ""
    BOLD = "B"


FILES = {Weight.REGULAR: DATA / "DejaVuSans.ttf", Weight.BOLD: DATA / "DejaVuSans-Bold.ttf"}


@dataclass(frozen=True, eq=False)
class Face:
    """One face: ``advances`` by code point, height above and depth below the line, in units of an ``em``-th em."""

    em: int
    ascent: int
    descent: int
    advances: Mapping[int, int]
    source: Any = field(repr=False)

    def width(self, text: str, points: float) -> float:
        """Return how wide a text runs, in mm, at a size in points; without kerning, as it is drawn."""
        return self.units(text) * points * MM_PER_POINT / self.em

    def units(self, text: str) -> int:
        """Return how wide a text runs in the face's units; after ``clean`` every character has a glyph."""
        advances = self.advances
        return sum(advances[ord(each)] for each in text)

    def room(self, mm: float, points: float) -> float:
        """Return how many of the face's units go into a width."""
        return mm * self.em / (points * MM_PER_POINT)

    def rise(self, points: float) -> float:
        """Return the height above the line in mm."""
        return self.ascent * points * MM_PER_POINT / self.em

    def drop(self, points: float) -> float:
        """Return the depth below the line in mm."""
        return self.descent * points * MM_PER_POINT / self.em

    def outline(self, character: str) -> str:
        """Return a character's outline as SVG path data in the face's units, y upward; empty for a space."""
        return _outline(self, character)


@cache
def face(weight: Weight = Weight.REGULAR) -> Face:
    """Return a face, read once."""
    from fontTools.ttLib import TTFont  # noqa: PLC0415  loaded on first use: most requests draw nothing

    # From memory, its outlines at hand: nothing stays open, and no two threads move about in one file.
    source = TTFont(BytesIO(FILES[weight].read_bytes()), lazy=True)
    outlines, metrics, names = source["glyf"], source["hmtx"].metrics, source.getBestCmap()
    advances = {point: metrics[name][0] for point, name in names.items() if name in outlines}
    head = source["hhea"]
    return Face(source["head"].unitsPerEm, head.ascent, -head.descent, advances, source)


@cache
def _outline(of: Face, character: str) -> str:
    from fontTools.pens.svgPathPen import SVGPathPen  # noqa: PLC0415

    glyphs = of.source.getGlyphSet()
    pen = SVGPathPen(glyphs)
    glyphs[of.source.getBestCmap()[ord(character)]].draw(pen)
    return str(pen.getCommands())


def clean(text: str) -> str:
    """Return a text that can be drawn on one line: nothing invisible, blanks single, at most one mark on a letter.

    A character that the face lacks is shown as a replacement mark, never left out in silence.
    """
    if text.isascii() and text.isprintable() and "  " not in text:
        return text.strip()
    spaced = " ".join(unicodedata.normalize("NFC", text).split())
    kept: list[str] = []
    for each in spaced:
        drawn = _drawn(each)
        if drawn and not (_is_mark(drawn) and (not kept or _is_mark(kept[-1]))):
            kept.append(drawn)
    return " ".join("".join(kept).split())


def _is_mark(character: str) -> bool:
    return unicodedata.category(character) in MARKS


def _drawn(character: str) -> str:
    category = unicodedata.category(character)
    if category in DROPPED:
        return ""
    known = category not in NEVER_DRAWN and all(ord(character) in face(weight).advances for weight in Weight)
    return character if known else UNKNOWN
