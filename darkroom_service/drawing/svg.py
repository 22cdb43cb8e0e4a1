"""Drawings as one SVG page. Text is drawn as its outlines, so that no other machine's font changes it."""

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from html import escape

from darkroom_service.drawing.scene import Bar, Drawing, Item, Matrix, Pictogram, Text, pictogram_file
from darkroom_service.drawing.typeface import MM_PER_POINT, Weight, face

VIEW = re.compile(r'viewBox="([0-9. -]+)"')
LETTER = {Weight.REGULAR: "r", Weight.BOLD: "b"}

Placed = tuple[float, float, Drawing]


def page(width: float, height: float, placed: Sequence[Placed], title: str) -> str:
    """Return an SVG of ``width`` by ``height`` mm with drawings at their places; ``title`` names it to a reader."""
    drawings = [drawing for _, _, drawing in placed]
    items = [item for drawing in drawings for item in drawing.items]
    spoken = "\n".join(line for drawing in drawings for line in drawing.words())
    size = f'width="{width:g}mm" height="{height:g}mm" viewBox="0 0 {width:g} {height:g}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-labelledby="t d">',
        f'<title id="t">{escape(title)}</title>',
        f'<desc id="d">{escape(spoken)}</desc>',
        "<defs>",
        *_symbols(items),
        *_glyphs(items),
        "</defs>",
        *(_group(x, y, drawing) for x, y, drawing in placed),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _group(x: float, y: float, drawing: Drawing) -> str:
    inner = "".join(_written(item) for item in drawing.items)
    return f'<g transform="translate({x:.3f} {y:.3f})">{inner}</g>'


def _written(item: Item) -> str:
    if isinstance(item, Text):
        return _text(item)
    if isinstance(item, Bar):
        return f'<path fill="{_grey(item.ink)}" d="{_box(item.x, item.y, item.width, item.height)}"/>'
    if isinstance(item, Matrix):
        return f'<path shape-rendering="crispEdges" d="{"".join(_box(*run) for run in item.runs())}"/>'
    where = f'x="{item.x:.3f}" y="{item.y:.3f}" width="{item.size:.3f}" height="{item.size:.3f}"'
    return f'<use href="#{item.code.lower()}" {where}/>'


def _text(item: Text) -> str:
    style = face(item.weight)
    scale = item.points * MM_PER_POINT / style.em
    uses, x = [], 0
    for each in item.text:
        if style.outline(each):
            uses.append(f'<use href="#{_id(item.weight, each)}" x="{x}"/>')
        x += style.units(each)
    place = f"translate({item.x:.3f} {item.y:.3f}) scale({scale:.6f} {-scale:.6f})"
    return f'<g fill="{_grey(item.ink)}" transform="{place}">{"".join(uses)}</g>'


def _glyphs(items: Iterable[Item]) -> Iterator[str]:
    used = {(item.weight, each) for item in items if isinstance(item, Text) for each in item.text}
    for weight, each in sorted(used):
        if outline := face(weight).outline(each):
            yield f'<path id="{_id(weight, each)}" d="{outline}"/>'


def _symbols(items: Iterable[Item]) -> Iterator[str]:
    for code in sorted({item.code for item in items if isinstance(item, Pictogram)}):
        view, inner = _artwork(code)
        yield f'<symbol id="{code.lower()}" viewBox="{view}">{inner}</symbol>'


@cache
def _artwork(code: str) -> tuple[str, str]:
    """Return a pictogram's view box and what is drawn in it."""
    text = pictogram_file(code).read_text(encoding="utf-8")
    body = text[text.index("<svg") : text.rindex("</svg>")]
    found = VIEW.search(body)
    if found is None:
        raise ValueError(f"{code} has no view box")
    return found[1], " ".join(body[body.index(">") + 1 :].split())


def _id(weight: Weight, character: str) -> str:
    return f"{LETTER[weight]}{ord(character):x}"


def _box(x: float, y: float, width: float, height: float) -> str:
    return f"M{x:.3f} {y:.3f}h{width:.3f}v{height:.3f}h{-width:.3f}z"


def _grey(ink: int) -> str:
    return f"#{ink:02x}{ink:02x}{ink:02x}"
