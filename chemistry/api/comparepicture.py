"""A comparison drawn as one picture: a table whose numbers are text, with a bar under each that can be measured.

Black on white, nothing is told by colour. Every text is measured in the face it is set in and wrapped to its cell.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

from chemistry.commands.compare import Compared
from chemistry.science.comparison import ROWS, Figure
from chemistry.science.hazard.classify import CALCULATED
from darkroom_service.drawing.fit import line_height, one_line, wrap
from darkroom_service.drawing.typeface import MM_PER_POINT, Face, Weight, clean, face

MARGIN, LABEL, COLUMN, PAD = 6.0, 40.0, 64.0, 2.0
POINTS, TITLE = 8.0, 10.0
BAR, MOST_LINES = 1.6, 14
# What is drawn as a bar: a plain number of one unit.
MEASURED = ("cost_per_roll", "rolls_per_litre", "minimum_stock", "keeping_sealed", "keeping_full", "keeping_part_full")
# The face the widths are measured in comes first; the others run no wider.
FAMILY = "DejaVu Sans, Verdana, Arial, sans-serif"
NOT_KNOWN = "not known"
# What could hurt somebody is never cut short.
WHOLE = ("hazard", "protection", "topic", "drain")


@dataclass(frozen=True)
class Cell:
    """The lines of a cell, and the part of the column its bar fills under each first line (None: no bar)."""

    blocks: tuple[tuple[tuple[str, ...], float | None], ...]

    @property
    def height(self) -> float:
        """Return the height in mm."""
        return sum(_height(lines, bar) for lines, bar in self.blocks) + 2 * PAD


def drawn(items: Sequence[Compared]) -> str:
    """Return the whole picture as SVG, in mm."""
    width = 2 * MARGIN + LABEL + COLUMN * len(items)
    heads = [_wrapped(each.formula.name, face(Weight.BOLD), TITLE, COLUMN - 2 * PAD) for each in items]
    y = MARGIN + max(len(lines) for lines in heads) * line_height(TITLE) + 2 * PAD
    parts = [
        _text(MARGIN + LABEL + COLUMN * at + PAD, MARGIN, lines, TITLE, bold=True) for at, lines in enumerate(heads)
    ]
    for name, words in ROWS.items():
        cells = _row(name, items)
        label = _wrapped(words, face(Weight.BOLD), POINTS, LABEL - 2 * PAD)
        tall = max(*(each.height for each in cells), len(label) * line_height(POINTS) + 2 * PAD)
        parts.append(f'<path d="M{MARGIN:g} {y:.2f}H{width - MARGIN:g}" stroke="#000" stroke-width="0.2"/>')
        parts.append(_text(MARGIN + PAD, y + PAD, label, POINTS, bold=True))
        parts += [line for at, each in enumerate(cells) for line in _cell(MARGIN + LABEL + COLUMN * at, y, each)]
        y += tall
    foot = _wrapped(CALCULATED, face(), POINTS, width - 2 * MARGIN)
    parts.append(_text(MARGIN, y + PAD, foot, POINTS))
    return _page(width, y + PAD + len(foot) * line_height(POINTS) + MARGIN, items, parts)


def _page(width: float, height: float, items: Sequence[Compared], parts: Iterable[str]) -> str:
    names = ", ".join(clean(each.formula.name) for each in items)
    spoken = " ".join(f"{clean(each.formula.name)}: {_spoken(each)}" for each in items)
    return "\n".join([
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:.2f}mm"'
        f' viewBox="0 0 {width:g} {height:.2f}" role="img" aria-labelledby="t d" font-family="{FAMILY}">',
        f'<title id="t">{escape(names)}</title>', f'<desc id="d">{escape(spoken)}</desc>',
        f'<rect width="{width:g}" height="{height:.2f}" fill="#fff"/>', *parts, "</svg>", "",
    ])  # fmt: skip


def _spoken(each: Compared) -> str:
    return "; ".join(f"{ROWS[figure.name]} {_line(figure)}" for figure in each.figures)


def _row(name: str, items: Sequence[Compared]) -> list[Cell]:
    rows = [[figure for figure in each.figures if figure.name == name] for each in items]
    numbers = [float(each.value) for row in rows for each in row if name in MEASURED and each.value is not None]
    most = max(numbers, default=0.0)
    return [Cell(tuple(_block(each, most) for each in row)) for row in rows]


def _block(figure: Figure, most: float) -> tuple[tuple[str, ...], float | None]:
    rows = None if figure.name in WHOLE else MOST_LINES
    lines = _wrapped(_line(figure), face(), POINTS, COLUMN - 2 * PAD, most=rows)
    measured = figure.name in MEASURED and figure.value is not None and most > 0
    return lines, float(figure.value or 0) / most if measured else None


def _line(figure: Figure) -> str:
    """Return a figure as it is read, ``one-shot, any dilution: 0.37 EUR``."""
    value = NOT_KNOWN if figure.value is None else f"{figure.value} {figure.unit}".strip()
    at = f"{figure.at}: " if figure.at else ""
    return f"{at}{value}" + (f". {figure.missing}" if figure.missing else "")


def _wrapped(text: str, of: Face, points: float, width: float, *, most: int | None = MOST_LINES) -> tuple[str, ...]:
    """Break a text to a width; what runs over so many lines ends in an ellipsis on the last."""
    lines = wrap(clean(text), of, width, points) or [""]
    if most is None or len(lines) <= most:
        return tuple(lines)
    rest = " ".join(lines[most - 1 :])
    return (*lines[: most - 1], one_line(rest, of, width, points))


def _height(lines: Sequence[str], bar: float | None) -> float:
    return len(lines) * line_height(POINTS) + (0.8 if bar is None else BAR + 1.2)


def _cell(x: float, y: float, cell: Cell) -> Iterator[str]:
    y += PAD
    for lines, bar in cell.blocks:
        yield _text(x + PAD, y, lines, POINTS)
        if bar is not None:
            top, full = y + len(lines) * line_height(POINTS) + 0.3, COLUMN - 2 * PAD
            box = f'x="{x + PAD:.2f}" y="{top:.2f}" height="{BAR}"'
            yield f'<rect {box} width="{full:g}" fill="none" stroke="#000" stroke-width="0.15"/>'
            yield f'<rect {box} width="{full * bar:.2f}" fill="#000"/>'
        y += _height(lines, bar)


def _text(x: float, y: float, lines: Sequence[str], points: float, *, bold: bool = False) -> str:
    style = face(Weight.BOLD if bold else Weight.REGULAR)
    size, first = points * MM_PER_POINT, y + style.rise(points)
    rows = "".join(
        f'<tspan x="{x:.2f}" y="{first + number * line_height(points):.2f}">{escape(line)}</tspan>'
        for number, line in enumerate(lines)
    )
    weight = ' font-weight="bold"' if bold else ""
    return f'<text font-size="{size:.3f}"{weight}>{rows}</text>'
