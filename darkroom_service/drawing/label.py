"""A label laid out once, then drawn as a picture or as a page: the same either way.

At the right edge the code to scan and the pictograms, at the left the words, which flow around them. Too much text gets
smaller, then what is optional goes, and only then is a line cut.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from darkroom_service.drawing import scene
from darkroom_service.drawing.fit import line_height
from darkroom_service.drawing.flow import Block, Flowed, Keepout, Line, Room, flow
from darkroom_service.drawing.scene import GREY, INK, WHITE, Bar, Drawing, Item, Pictogram, Text
from darkroom_service.drawing.typeface import Weight, face

LITRES_3, LITRES_50 = 3000.0, 50_000.0
# Side of a pictogram in mm by what the vessel holds, and the least. Source: CLP Annex I, table 1.3 (1.2.1.4), read.
SIDES = ((LITRES_3, 16.0), (LITRES_50, 23.0), (math.inf, 32.0))
LEAST_SIDE = 10.0
# The drawn square is a little smaller than its picture.
DRAWN = 0.97
# A module of the code is read safely by a phone from about 0.33 mm (common practice, no source).
LEAST_MODULE = 0.35
QUIET = 4
REFERENCE = math.sqrt(100 * 62)
SCALES = (1.0, 0.95, 0.9, 0.85, 0.8, 0.75)
# Hard to read, and still better than a caution that is not there.
LAST_SCALES = (0.65, 0.55)
SCAN = "Full list: scan."


@dataclass(frozen=True)
class Label:
    """What a label says. ``statements`` and ``advice`` are left out from the end where they do not fit; no other is.

    ``lines`` are (text, bold); ``banner`` stands white on black above all; ``basis`` says what the words rest on;
    ``holds_ml`` is the size of the vessel, which the pictograms go by.
    """

    title: str
    code: str
    address: str
    lines: tuple[tuple[str, bool], ...] = ()
    banner: str = ""
    signal: str = ""
    pictograms: tuple[str, ...] = ()
    statements: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    basis: str = ""
    holds_ml: float = 1000.0


@dataclass(frozen=True)
class _Frame:
    """Where things stand: the margin, the code, the pictograms' places and size, and whether there is room below it."""

    margin: float
    code: scene.Matrix
    code_below: bool
    marks: tuple[Pictogram, ...]
    room: Room


def lay_out(label: Label, width: float, height: float) -> Drawing:
    """Lay a label out on ``width`` by ``height`` mm."""
    frame = _frame(label, width, height)
    size = min(1.35, max(0.55, math.sqrt(width * height) / REFERENCE))
    found = _fitted(label, frame, size)
    items: list[Item] = [Bar(0, 0, width, height, WHITE)]
    items += _lines(found.lines, frame)
    items += [frame.code, *frame.marks]
    if frame.code_below:
        items.append(_under(label.code, frame.code))
    return Drawing(width, height, tuple(items))


def _fitted(label: Label, frame: _Frame, size: float) -> Flowed:
    """Return the first setting of which nothing is cut, else the last there is."""
    for statements, advice, scale in dict.fromkeys(_tries(label)):
        found = flow(_blocks(label, frame, size, scale, statements=statements, advice=advice), frame.room)
        if not found.cut:
            break
    return found


def _tries(label: Label) -> Iterator[tuple[int, int, float]]:
    """Yield what may be said and how large, the largest that says most first: so many statements and lines of advice.

    All, then without advice, then with fewer statements, and at last with none.
    """
    every = len(label.statements)
    for advice in (len(label.advice), 0):
        yield from ((every, advice, scale) for scale in SCALES)
    yield from ((fewer, 0, SCALES[-1]) for fewer in range(every - 1, 0, -1))
    yield from ((0, 0, scale) for scale in (*SCALES, *LAST_SCALES))


def _blocks(label: Label, frame: _Frame, size: float, scale: float, *, statements: int, advice: int) -> list[Block]:
    body = max(5.25, 8.0 * size) * scale
    told = " ".join((*label.statements[:statements], *((SCAN,) if statements < len(label.statements) else ())))
    code = () if frame.code_below else ((label.code, True),)
    big, gap = max(7.0, 13.5 * size) * (scale + 1) / 2, 1.6 * size * scale
    blocks = [
        Block(label.banner, big, Weight.BOLD, most=2, floor=body, inverse=True),
        Block(label.title, big, Weight.BOLD, most=2, floor=body, gap=gap if label.banner else 0),
        *(Block(text, body, _weight(bold), gap=gap / 4, most=2, floor=body * 0.8) for text, bold in label.lines + code),
        Block(label.signal, body * 1.5, Weight.BOLD, gap=gap, ruled=True),
        Block(told, body, gap=gap / 3 if label.signal else gap, ruled=not label.signal),
        Block(" ".join(label.cautions), body, Weight.BOLD, gap=gap / 2),
        Block(" ".join(label.advice[:advice]), body * 0.9, gap=gap / 2),
        Block(label.basis, body * 0.85, gap=gap / 2, grey=True),
    ]
    return [each for each in blocks if each.text]


def _frame(label: Label, width: float, height: float) -> _Frame:
    margin = min(4.0, max(1.5, 0.045 * min(width, height)))
    across, down = width - 2 * margin, height - 2 * margin
    probe = scene.matrix(label.address, 0, 0, 1)
    modules = len(probe.modules)
    size = min(max(0.34 * min(width, height), LEAST_MODULE * modules), 24.0, 0.6 * down, 0.4 * across)
    quiet = QUIET * size / modules
    code = scene.Matrix(margin + across - size, margin, size, probe.modules)
    below = line_height(_under_points(size)) if down >= 32 else 0.0
    used = size + max(quiet, below + 1.0)
    marks, taken = _marks(label, across, down, used)
    placed = tuple(Pictogram(margin + x, margin + y, side, name) for x, y, side, name in marks)
    keep = (Keepout(across - size - quiet - 0.5, 0, used), *taken)
    return _Frame(margin, code, below > 0, placed, Room(across, down, keep))


def _marks(
    label: Label, across: float, down: float, used: float
) -> tuple[list[tuple[float, float, float, str]], tuple[Keepout, ...]]:
    """Place the pictograms in the lower right corner: in the fewest rows at the least size, or as large as may be."""
    count = len(label.pictograms)
    if not count:
        return [], ()
    wanted = next(side for most, side in SIDES if label.holds_ml <= most) * math.sqrt(2) / DRAWN
    portrait = down > across
    high, wide = down - used, across if portrait else max(0.58 * across, min(across, LEAST_SIDE * 1.5))
    sizes = {rows: min(wanted, high / rows, wide / math.ceil(count / rows)) for rows in range(1, count + 1)}
    enough = [rows for rows, size in sizes.items() if size >= LEAST_SIDE * math.sqrt(2) / DRAWN]
    rows = min(enough) if enough else max(sizes, key=lambda each: sizes[each])
    size, columns = sizes[rows], math.ceil(count / rows)
    top, marks = down - size * rows, []
    for index, name in enumerate(label.pictograms):
        row, column = divmod(index, columns)
        marks.append((across - size * (columns - column), top + size * row, size, name))
    return marks, (Keepout(across - size * columns - 1.0, top - 0.3, down),)


def _lines(lines: Sequence[Line], frame: _Frame) -> Iterator[Item]:
    left, top = frame.margin, frame.margin
    for line in lines:
        block, style = line.block, face(line.block.weight)
        height = line_height(block.points)
        y = top + line.top
        if block.ruled and line.first:
            yield Bar(left, y - block.gap / 2, line.width, 0.2, 150)
        if block.inverse:
            yield Bar(left, y, line.width, height)
        # Ascent and descent share the line evenly with the space left between lines.
        spare = (height - style.rise(block.points) - style.drop(block.points)) / 2
        ink = WHITE if block.inverse else GREY if block.grey else INK
        inset = 0.8 if block.inverse and style.width(line.text, block.points) + 0.8 <= line.width else 0.0
        yield Text(left + inset, y + spare + style.rise(block.points), line.text, block.points, block.weight, ink)


def _under_points(size: float) -> float:
    return min(11.0, max(6.0, size * 0.5))


def _under(code: str, matrix: scene.Matrix) -> Text:
    """Return the readable code, centred below the code to scan, never wider than that."""
    style, points = face(Weight.BOLD), _under_points(matrix.size)
    width = style.width(code, points)
    if width > matrix.size:
        points, width = points * matrix.size / width, matrix.size
    y = matrix.y + matrix.size + 0.8 + style.rise(points)
    return Text(matrix.x + (matrix.size - width) / 2, y, code, points, Weight.BOLD)


def _weight(bold: bool) -> Weight:
    return Weight.BOLD if bold else Weight.REGULAR
