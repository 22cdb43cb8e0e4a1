"""Film and paper formats: the roll units each charges to a bath, and the coated area kept beside it.

Capacity is charged in roll units from this table, by convention: 80 in² = one 135-36 = one 120 = half a 220 = four
4x5 in sheets = one 8x10 in sheet. Silver, paper and fixer work on the real area, which is up to 10 % off it.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from difflib import get_close_matches
from fractions import Fraction
from types import MappingProxyType

from chemistry.science.formula import Material

GRID = 3600  # steps to a roll unit: thirds of a roll and 1/80 in² both fall on it
INCH_MM = Decimal("25.4")
UNIT_MM2 = 80 * INCH_MM * INCH_MM
MOST_COUNT = 10_000

_CONVENTION = "common practice: https://www.brodie-tyrrell.org/wiki/index.php?FixerCapacity"
_BY_FRAMES = "common practice, no source: frames / 36"
_HALF_FRAME = "exact: the same strip of film as 36 full frames"
_ROLL_SIZE = "film size from memory of ISO 1007 and ISO 732, lengths within 2 %"
_BY_AREA = "load = area / 80 in², exact arithmetic"
_FREE = re.compile(r"(paper|sheet)-([1-9][0-9]{1,3}(?:\.[0-9])?)x([1-9][0-9]{1,3}(?:\.[0-9])?)mm")


@dataclass(frozen=True)
class Format:
    """One roll, sheet or length: size in mm as coated, load in roll units on the 1/3600 grid. It names no process."""

    code: str
    name: str
    material: Material
    width_mm: Decimal
    length_mm: Decimal
    load: Fraction
    source: str

    @property
    def area_cm2(self) -> Decimal:
        """Coated area = width x length / 100 in cm², half-even to 0.001 cm², exact arithmetic on the stated size."""
        return _cm2(self.width_mm * self.length_mm)


class UnknownFormat(ValueError):
    """No such format; ``offers`` are the codes nearest to it."""

    def __init__(self, message: str, offers: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.offers = offers


def find(code: str) -> Format:
    """Return the format of a code: a published one, or a free size such as ``paper-203.2x305mm``."""
    if code in FORMATS:
        return FORMATS[code]
    if free := _FREE.fullmatch(code):
        return by_size(Decimal(free[2]), Decimal(free[3]), _FREE_KINDS[free[1]])
    said = code[:40].lower()
    near = _SPOKEN.get(re.sub("[ -]", "", said)) or tuple(get_close_matches(said, FORMATS, n=4, cutoff=0.5))
    nearest = f"near it: {', '.join(near)}" if near else "a sheet may be named by its size, such as paper-200x250mm"
    raise UnknownFormat(f"There is no such film or paper format; {nearest}.", near)


def load(code: str, count: int = 1) -> Fraction:
    """Return count x load in roll units, a multiple of 1/3600; count 1 to 10 000; the published convention."""
    return find(code).load * _counted(count)


def area(code: str, count: int = 1) -> Decimal:
    """Return count x coated area in cm², to 0.001 cm²; count 1 to 10 000; exact arithmetic on the stated size."""
    return find(code).area_cm2 * _counted(count)


def image_area(frames: int, width_mm: Decimal, height_mm: Decimal) -> Decimal:
    """Return frames x width x height / 100 in cm², to 0.001 cm²: what the developer works on; exact arithmetic."""
    return _cm2(_counted(frames) * width_mm * height_mm)


def by_size(width_mm: Decimal, height_mm: Decimal, material: Material = Material.PAPER) -> Format:
    """Return the format of a sheet by its size, 10 to 3000 mm a side to 0.1 mm; load = area / 80 in², to 1/3600."""
    short, long = sorted((_side(width_mm), _side(height_mm)))
    for known in FORMATS.values():
        if known.material is material and {known.width_mm, known.length_mm} == {short, long}:
            return known
    word = "paper" if material is Material.PAPER else "sheet"
    size = f"{_plain(short)}x{_plain(long)}"
    name = f"{word} {size.replace('x', ' x ')} mm"
    return Format(f"{word}-{size}mm", name, material, short, long, _by_area(short, long), _BY_AREA)


def _cm2(mm2: Decimal) -> Decimal:
    return (mm2 / 100).quantize(Decimal("0.001"), ROUND_HALF_EVEN)


def _by_area(width_mm: Decimal, length_mm: Decimal) -> Fraction:
    return Fraction(round(Fraction(width_mm * length_mm) / Fraction(UNIT_MM2) * GRID), GRID)


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"


def _counted(count: int) -> int:
    if not 1 <= count <= MOST_COUNT:
        raise ValueError(f"a count is a whole number from 1 to {MOST_COUNT}")
    return count


def _side(mm: Decimal) -> Decimal:
    if not (mm.is_finite() and 10 <= mm <= 3000 and mm == round(mm, 1)):
        raise UnknownFormat("A sheet is 10 to 3000 mm a side, to 0.1 mm.")
    return mm


def _film(code: str, name: str, size: tuple[str, str], load: Fraction | None = None, basis: str = _BY_AREA) -> Format:
    width_mm, length_mm = map(Decimal, size)
    load = load or _by_area(width_mm, length_mm)
    return Format(code, name, Material.FILM, width_mm, length_mm, load, f"{basis}; {_ROLL_SIZE}")


def _length(code: str, name: str, width: str, length: str) -> Format:
    size = Decimal(width), Decimal(length)
    return Format(code, name, Material.FILM, *size, _by_area(*size), f"{_BY_AREA}; width from memory")


def _cut(size: str, unit: str, material: Material) -> Format:
    """Build a sheet that measures what its name says."""
    short, long = (Decimal(side) * (INCH_MM if unit == "in" else 10) for side in size.split("x"))
    suffix = "" if unit == "in" else unit
    prefix, what = ("paper-", "paper") if material is Material.PAPER else ("", "sheet film")
    name = f"{size.replace('x', ' x ')} {unit} {what}"
    return Format(f"{prefix}{size}{suffix}", name, material, short, long, _by_area(short, long), _BY_AREA)


def _trimmed(size: str, width: str, length: str) -> Format:
    """Build a film sheet that is cut smaller than its name so as to fit a holder; the load follows the name."""
    named = _cut(size, "in", Material.FILM)
    source = f"{_CONVENTION}; sheet size from memory of ISO 1012"
    return Format(named.code, named.name, Material.FILM, Decimal(width), Decimal(length), named.load, source)


_FREE_KINDS = {"paper": Material.PAPER, "sheet": Material.FILM}
_SMALL_FILM = ("135-36", "135-24", "135-12", "135-36-half")
_SPOKEN: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        **dict.fromkeys(("35mm", "35", "135", "smallformat"), _SMALL_FILM),
        **dict.fromkeys(("halfframe", "half", "135half"), ("135-36-half", "135-36")),
        **dict.fromkeys(("mediumformat", "6x6", "6x7", "6x9", "6x45"), ("120", "220")),
    }
)
_PAPERS_IN = ("3.5x5", "5x7", "8x10", "9.5x12", "11x14", "12x16", "16x20", "20x24")
_PAPERS_CM = ("9x12", "13x18", "18x24", "24x30", "30x40", "40x50", "50x60")

FORMATS: Mapping[str, Format] = MappingProxyType(
    {
        each.code: each
        for each in (
            _film("135-36", "35 mm film, 36 exposures", ("35.0", "1620"), Fraction(1), _CONVENTION),
            _film("135-36-half", "35 mm film, half frame, 72 exposures", ("35.0", "1620"), Fraction(1), _HALF_FRAME),
            _film("135-24", "35 mm film, 24 exposures", ("35.0", "1164"), Fraction(24, 36), _BY_FRAMES),
            _film("135-12", "35 mm film, 12 exposures", ("35.0", "708"), Fraction(12, 36), _BY_FRAMES),
            _film("120", "120 film, any frame size", ("61.5", "830"), Fraction(1), _CONVENTION),
            _film("220", "220 film, any frame size", ("61.5", "1650"), Fraction(2), _CONVENTION),
            _film("127", "127 film", ("46.0", "620")),
            _film("110", "110 film", ("16.0", "700")),
            _trimmed("4x5", "100.4", "125.4"),
            _trimmed("8x10", "201.6", "252.4"),
            *(_cut(size, "in", Material.FILM) for size in ("5x7", "11x14")),
            *(_cut(size, "cm", Material.FILM) for size in ("9x12", "13x18", "18x24")),
            _length("16mm-100ft", "16 mm motion-picture film, 100 ft", "16", "30480"),
            _length("16mm-400ft", "16 mm motion-picture film, 400 ft", "16", "121920"),
            _length("35mm-100ft", "35 mm motion-picture film, 100 ft", "35", "30480"),
            _length("35mm-400ft", "35 mm motion-picture film, 400 ft", "35", "121920"),
            _length("35mm-30.5m", "35 mm film, 30.5 m bulk length", "35", "30500"),
            _length("super8-50ft", "Super 8 film, 50 ft", "7.98", "15240"),
            _length("double8-25ft", "Double 8 film, 25 ft", "16", "7620"),
            *(_cut(size, "in", Material.PAPER) for size in _PAPERS_IN),
            *(_cut(size, "cm", Material.PAPER) for size in _PAPERS_CM),
        )
    }
)
