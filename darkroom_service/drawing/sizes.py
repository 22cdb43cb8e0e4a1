"""Label sizes: rolls of single labels, and sheets to be peeled, each named by its mm."""

from dataclasses import dataclass

from darkroom_service.drawing.pdf import PAPERS


@dataclass(frozen=True)
class Size:
    """A label of ``width`` by ``height`` mm, on a roll or ``columns`` by ``rows`` on a paper with ``gap`` mm between.

    The labels of a sheet stand in the middle of it, as office supplies are cut.
    """

    width: float
    height: float
    paper: str = ""
    columns: int = 1
    rows: int = 1
    gap: float = 0.0

    @property
    def places(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows

    @property
    def page(self) -> tuple[float, float]:
        """The page in mm: the sheet, or the label itself."""
        return PAPERS[self.paper] if self.paper else (self.width, self.height)

    def place(self, index: int) -> tuple[float, float]:
        """Return the upper left corner of a place, counted from 0 by rows from the left."""
        across, down = self.page
        row, column = divmod(index, self.columns)
        left = (across - self.columns * self.width - (self.columns - 1) * self.gap) / 2
        return left + column * (self.width + self.gap), (down - self.rows * self.height) / 2 + row * self.height


# The cuts of common office label sheets and rolls (common practice, no source).
SIZES = {
    "100x62": Size(100, 62),
    "62x100": Size(62, 100),
    "100x150": Size(100, 150),
    "89x36": Size(89, 36),
    "50x30": Size(50, 30),
    "a4-99x139": Size(99.1, 139, "A4", 2, 2, 2.5),
    "a4-99x68": Size(99.1, 67.7, "A4", 2, 4, 2.5),
    "a4-99x38": Size(99.1, 38.1, "A4", 2, 7, 2.5),
    "a4-70x37": Size(70, 37, "A4", 3, 8),
    "a4-64x38": Size(63.5, 38.1, "A4", 3, 7, 2.5),
    "letter-102x85": Size(101.6, 84.6, "Letter", 2, 3, 4.8),
    "letter-102x51": Size(101.6, 50.8, "Letter", 2, 5, 4.8),
}
DEFAULT = "100x62"
