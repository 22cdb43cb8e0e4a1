"""What a drawing is made of: text, bars, pictograms and codes at their places, in mm from the upper left corner."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from darkroom_service.drawing.typeface import Weight

PICTOGRAMS = Path(__file__).parent.parent / "static" / "darkroom" / "ghs"
INK, GREY, WHITE = 20, 90, 255


@dataclass(frozen=True)
class Text:
    """One line of text: ``y`` is the line it stands on, ``ink`` from 0 black to 255 white."""

    x: float
    y: float
    text: str
    points: float
    weight: Weight = Weight.REGULAR
    ink: int = INK


@dataclass(frozen=True)
class Bar:
    """A filled rectangle: a rule, or the ground of an inverse line."""

    x: float
    y: float
    width: float
    height: float
    ink: int = INK


@dataclass(frozen=True)
class Pictogram:
    """One of the nine, by its code such as GHS07; ``size`` from corner to corner of its square on a point."""

    x: float
    y: float
    size: float
    code: str


@dataclass(frozen=True)
class Matrix:
    """A square code of dark modules, without its quiet zone."""

    x: float
    y: float
    size: float
    modules: tuple[tuple[bool, ...], ...]

    def runs(self) -> list[tuple[float, float, float, float]]:
        """Return the dark modules as few rectangles: x, y, width, height in mm."""
        step = self.size / len(self.modules)
        found = []
        for row, line in enumerate(self.modules):
            start = None
            for column, dark in enumerate((*line, False)):
                if dark and start is None:
                    start = column
                elif not dark and start is not None:
                    found.append((self.x + start * step, self.y + row * step, (column - start) * step, step))
                    start = None
        return found


Item = Text | Bar | Pictogram | Matrix


@dataclass(frozen=True)
class Drawing:
    """A finished layout, ``width`` by ``height`` mm."""

    width: float
    height: float
    items: tuple[Item, ...]

    def words(self) -> list[str]:
        """Return every line of text as it stands, from first to last."""
        return [each.text for each in self.items if isinstance(each, Text)]


@cache
def codes() -> tuple[str, ...]:
    """Return the codes of the pictograms there are: GHS01 to GHS09."""
    return tuple(sorted(each.stem.upper() for each in PICTOGRAMS.glob("ghs*.svg")))


def pictogram_file(code: str) -> Path:
    """Return the file of a pictogram; KeyError for a code that is none."""
    if code not in codes():
        raise KeyError(code)
    return PICTOGRAMS / f"{code.lower()}.svg"


def matrix(address: str, x: float, y: float, size: float) -> Matrix:
    """Return an address as a QR code (ISO/IEC 18004), medium error correction or better."""
    import segno  # noqa: PLC0415  loaded on first use

    code = segno.make_qr(address, error="m")
    return Matrix(x, y, size, tuple(tuple(bool(cell) for cell in row) for row in code.matrix))
