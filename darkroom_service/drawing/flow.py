"""Blocks of text set one below the other, beside what stands at the right edge; nothing runs over, whatever it says."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from darkroom_service.drawing.fit import SLACK, STEP, cut_line, line_height, take
from darkroom_service.drawing.typeface import Weight, clean, face

# Below this a column of text is not worth reading.
NARROWEST = 14.0


@dataclass(frozen=True)
class Block:
    """A run of words: ``gap`` mm above it, at most ``most`` lines, for which it may shrink to ``floor`` points."""

    text: str
    points: float
    weight: Weight = Weight.REGULAR
    gap: float = 0.0
    most: int = 99
    floor: float = 4.5
    grey: bool = False
    inverse: bool = False
    ruled: bool = False


@dataclass(frozen=True)
class Keepout:
    """What is right of ``left`` from ``top`` to ``bottom`` is taken."""

    left: float
    top: float
    bottom: float


@dataclass(frozen=True)
class Line:
    """One line as set: its top, the width it may take, and its block."""

    top: float
    width: float
    text: str
    block: Block
    first: bool


@dataclass(frozen=True)
class Room:
    """The area to fill, in mm, and what is taken of it at the right."""

    width: float
    height: float
    taken: tuple[Keepout, ...] = ()

    def place(self, y: float, height: float) -> tuple[float, float]:
        """Return the next place for a line at or below ``y``: its top and its width."""
        while True:
            beside = [each for each in self.taken if each.top < y + height - SLACK and each.bottom > y + SLACK]
            width = min((each.left for each in beside), default=self.width)
            if width >= min(NARROWEST, self.width) or not beside:
                return y, width
            y = min(each.bottom for each in beside)


@dataclass(frozen=True)
class Flowed:
    """The lines, and whether something of them had to be left out."""

    lines: tuple[Line, ...]
    cut: bool


def flow(blocks: Sequence[Block], room: Room) -> Flowed:
    """Set blocks from the top down; what does not fit is cut where the room ends, with an ellipsis."""
    lines: list[Line] = []
    y = 0.0
    for block in blocks:
        sized = _shrunk(block, room, y + block.gap)
        placed = list(_set(sized, room, y + block.gap))
        within = [each for each in placed if each.top + line_height(sized.points) <= room.height + SLACK]
        lines += within
        if len(within) < len(placed):
            return Flowed(_ending(lines), cut=True)
        y = within[-1].top + line_height(sized.points) if within else y
    return Flowed(tuple(lines), cut=False)


def _shrunk(block: Block, room: Room, y: float) -> Block:
    """Return the block at the largest size at which it keeps to its number of lines, or at its floor."""
    points = block.points
    while points > block.floor:
        sized = replace(block, points=points)
        if len(list(_rows(sized, room, y))) <= block.most:
            return sized
        points -= STEP
    return replace(block, points=min(block.points, block.floor))


def _set(block: Block, room: Room, y: float) -> Iterator[Line]:
    rows = list(_rows(block, room, y))
    kept = rows[: block.most]
    if len(rows) > block.most:
        kept[-1] = _ended(kept[-1])
    yield from kept


def _rows(block: Block, room: Room, y: float) -> Iterator[Line]:
    style, height = face(block.weight), line_height(block.points)
    left, first = clean(block.text), True
    while left:
        top, width = room.place(y, height)
        text, left = take(left, style, style.room(width, block.points) + SLACK)
        yield Line(top, width, text, block, first)
        y, first = top + height, False


def _ended(line: Line) -> Line:
    """Return a line that says by an ellipsis that more was meant to follow."""
    style = face(line.block.weight)
    return replace(line, text=cut_line(line.text, style, style.room(line.width, line.block.points) + SLACK))


def _ending(lines: list[Line]) -> tuple[Line, ...]:
    return (*lines[:-1], _ended(lines[-1])) if lines else ()
