"""Text set into a box: wrapped, then smaller down to a floor, then cut with an ellipsis; it never runs over."""

from dataclasses import dataclass

from darkroom_service.drawing.typeface import ELLIPSIS, MM_PER_POINT, Face, clean

LEADING = 1.2
STEP = 0.25
# A line that fits to the last unit must not be broken by the rounding of a division.
SLACK = 1e-6


@dataclass(frozen=True)
class Fitted:
    """Lines as they stand, their size in points, and whether something had to be left out."""

    lines: tuple[str, ...]
    points: float
    cut: bool = False

    @property
    def height(self) -> float:
        """Return the height of the lines in mm."""
        return len(self.lines) * line_height(self.points)


def line_height(points: float) -> float:
    """Return the height that one line takes, in mm."""
    return points * LEADING * MM_PER_POINT


def fit(text: str, face: Face, width: float, height: float, *, points: float, floor: float) -> Fitted:
    """Set a text into ``width`` by ``height`` mm, at ``points`` if it can, never below ``floor``.

    Where it does not fit at the floor it is cut and ends in an ellipsis; where not even that fits, nothing is set.
    """
    size = points
    while size >= floor:
        lines = wrap(text, face, width, size)
        if lines is not None and len(lines) * line_height(size) <= height + SLACK:
            return Fitted(tuple(lines), size)
        size -= STEP
    most = int((height + SLACK) / line_height(floor))
    return Fitted(cut(text, face, width, floor, most), floor, cut=True)


def wrap(text: str, face: Face, width: float, points: float) -> list[str] | None:
    """Break a text into lines of at most ``width`` mm, a word only where it is too long for a line of its own.

    A line break in the text stays one. None where one character is too wide for a line.
    """
    room = face.room(width, points) + SLACK
    lines: list[str] = []
    for paragraph in text.splitlines():
        left = clean(paragraph)
        if any(face.units(each) > room for each in set(left)):
            return None
        while left:
            line, left = take(left, face, room)
            lines.append(line)
    return lines


def cut(text: str, face: Face, width: float, points: float, most: int) -> tuple[str, ...]:
    """Return the first ``most`` lines, the last ending in an ellipsis if there would be more."""
    room = face.room(width, points) + SLACK
    if most < 1 or face.units(ELLIPSIS) > room:
        return ()
    lines = wrap(text, face, width, points)
    if lines is None:
        return (ELLIPSIS,)
    if len(lines) <= most:
        return tuple(lines)
    return (*lines[: most - 1], cut_line(lines[most - 1], face, room))


def one_line(text: str, face: Face, width: float, points: float) -> str:
    """Return a text on one line of at most ``width`` mm, cut with an ellipsis if it must be."""
    words, room = clean(text), face.room(width, points) + SLACK
    if face.units(words) <= room:
        return words
    return cut_line(words, face, room) if face.units(ELLIPSIS) <= room else ""


def take(words: str, face: Face, room: float) -> tuple[str, str]:
    """Return what of clean words goes on a line of ``room`` units, and the rest; together they are all of them.

    Whole words, or a part of one longer than a line: then as many characters as there is room for, at least one.
    """
    used = 0
    for place, each in enumerate(words):
        used += face.units(each)
        if used > room:
            blank = place if each == " " else words.rfind(" ", 0, place)
            end = blank if blank > 0 else max(place, 1)
            return words[:end], words[end:].lstrip(" ")
    return words, ""


def cut_line(line: str, face: Face, room: float) -> str:
    """Return a line that says by an ellipsis that more was meant to follow, within ``room`` units."""
    while line and face.units(line + ELLIPSIS) > room:
        line = line[:-1]
    return line.rstrip() + ELLIPSIS
