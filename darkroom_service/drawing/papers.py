"""Papers: paged documents with headings, paragraphs and tables, for a log, a card or a sheet that is kept."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, BinaryIO

from darkroom_service.drawing import fit, pdf
from darkroom_service.drawing.typeface import MM_PER_POINT, Face, Weight, face

if TYPE_CHECKING:
    from fpdf import FPDF

MARGIN = 15.0
FOOT = 16.0
PAD = 1.0
ROW_PAD = 0.9
INK, GREY, HAIR = 25, 95, 190
BODY, SMALL, TINY = 9.0, 8.0, 6.5
# A cell longer than this is cut: a row must fit on a page.
CELL_LINES = 20
# Stands for the number of pages until that is known; nobody writes it in a text.
PAGES = "⁂⁂"

Column = tuple[str, float, str]


class Document:
    """A paged document under construction; ``printed`` is an instant in the zone it is to be shown in."""

    def __init__(self, title: str, subtitle: str, printed: datetime, footer: str = "", *, landscape: bool = False,
                 paper: str = "A4") -> None:  # fmt: skip
        """Begin with the title on the first page; ``footer`` stands at the foot of every page, such as a head hash."""
        across, down = pdf.PAPERS[paper]
        self._across, self._down = (down, across) if landscape else (across, down)
        self._title, self._subtitle, self._printed, self._footer = title, subtitle, printed, footer
        self._page: FPDF = pdf.begin(title, printed, (self._across, self._down), head=self._head, foot=self._foot)
        self._page.alias_nb_pages(PAGES)
        self._y = MARGIN
        self._page.add_page()

    @property
    def width(self) -> float:
        """The width between the margins in mm: what the columns of a table share."""
        return self._across - 2 * MARGIN

    def heading(self, text: str) -> None:
        """Write a heading, kept with at least a few lines below it."""
        lines = fit.wrap(text, face(Weight.BOLD), self.width, 11.0) or []
        self._need(len(lines) * fit.line_height(11.0) + 14)
        self._y += 3
        self._lines(lines, 11.0, Weight.BOLD)
        self._y += 1.5

    def paragraph(self, text: str) -> None:
        """Write a paragraph; line breaks in the text stay."""
        for line in fit.wrap(text, face(), self.width, BODY) or []:
            self._need(fit.line_height(BODY))
            self._lines([line], BODY, Weight.REGULAR)
        self._y += 2

    def table(self, columns: Sequence[Column], rows: Iterable[Sequence[str]],
              totals: Sequence[str] | None = None) -> None:  # fmt: skip
        """Write a table of (name, width in mm, L or R or C); its head is repeated on every page, totals end it.

        Columns wider than the page together are narrowed in proportion. Rows are taken one by one as they come.
        """
        scale = min(1.0, self.width / sum(each[1] for each in columns))
        fitted = [(name, width * scale, align) for name, width, align in columns]
        self._row(fitted, [name for name, _, _ in fitted], Weight.BOLD, HAIR // 2)
        for row in rows:
            self._body_row(fitted, row)
        if totals is not None:
            self._body_row(fitted, totals, Weight.BOLD)
        self._y += 3

    def bytes(self) -> bytes:
        """Return the finished document."""
        return bytes(self._page.output())

    def write(self, fileobj: BinaryIO) -> None:
        """Write the finished document."""
        fileobj.write(self.bytes())

    def _body_row(self, columns: Sequence[Column], row: Sequence[str], weight: Weight = Weight.REGULAR) -> None:
        if len(row) != len(columns):
            raise ValueError(f"a row of {len(row)} cells in a table of {len(columns)} columns")
        cells = _cells(columns, row, weight)
        if self._y + _row_height(cells) > self._bottom:
            self._page.add_page()
            self._row(columns, [name for name, _, _ in columns], Weight.BOLD, HAIR // 2)
        self._put(columns, cells, weight, HAIR)

    def _row(self, columns: Sequence[Column], row: Sequence[str], weight: Weight, rule: int) -> None:
        cells = _cells(columns, row, weight)
        self._need(_row_height(cells) + 8)
        self._put(columns, cells, weight, rule)

    def _put(self, columns: Sequence[Column], cells: list[tuple[str, ...]], weight: Weight, rule: int) -> None:
        page, style, x = self._page, face(weight), MARGIN
        page.set_font(pdf.FAMILY, weight.value, SMALL)
        page.set_text_color(INK)
        for (_, width, align), lines in zip(columns, cells, strict=True):
            y = self._y + ROW_PAD
            for line in lines:
                page.text(x + _indent(line, style, width, align), y + style.rise(SMALL), line)
                y += fit.line_height(SMALL)
            x += width
        self._y += _row_height(cells)
        page.set_draw_color(rule)
        page.set_line_width(0.15)
        page.line(MARGIN, self._y, x, self._y)

    def _lines(self, lines: Iterable[str], points: float, weight: Weight, ink: int = INK) -> None:
        self._page.set_font(pdf.FAMILY, weight.value, points)
        self._page.set_text_color(ink)
        for line in lines:
            self._page.text(MARGIN, self._y + face(weight).rise(points), line)
            self._y += fit.line_height(points)

    def _need(self, height: float) -> None:
        if self._y + height > self._bottom:
            self._page.add_page()

    @property
    def _bottom(self) -> float:
        return self._down - MARGIN - FOOT

    def _head(self) -> None:
        self._y = MARGIN
        if self._page.page_no() == 1:
            title = fit.fit(self._title, face(Weight.BOLD), self.width, 16, points=16.0, floor=11.0)
            self._lines(title.lines, title.points, Weight.BOLD)
            self._lines(fit.wrap(self._subtitle, face(), self.width, BODY) or [], BODY, Weight.REGULAR, GREY)
        else:
            self._lines([fit.one_line(self._title, face(), self.width, SMALL)], SMALL, Weight.REGULAR, GREY)
        self._y += 3

    def _foot(self) -> None:
        page, y = self._page, self._down - MARGIN - FOOT + 4
        page.set_draw_color(HAIR)
        page.set_line_width(0.15)
        page.line(MARGIN, y, MARGIN + self.width, y)
        page.set_font(pdf.FAMILY, "", TINY)
        page.set_text_color(GREY)
        y += 1 + face().rise(TINY)
        page.text(MARGIN, y, f"Printed {self._printed:%Y-%m-%d %H:%M %Z}".strip())
        number = f"Page {page.page_no()} of {PAGES}"
        # Only a cell knows the number of pages in the end; it sets its text 0.3 of the size above the line it is given.
        page.set_xy(MARGIN, y - 0.3 * TINY * MM_PER_POINT)
        page.cell(self.width, 0, number, align="R")
        for line in fit.cut(self._footer, face(), self.width, TINY, 3):
            y += fit.line_height(TINY)
            page.text(MARGIN, y, line)


def _cells(columns: Sequence[Column], row: Sequence[str], weight: Weight) -> list[tuple[str, ...]]:
    style = face(weight)
    return [
        fit.cut(cell, style, width - 2 * PAD, SMALL, CELL_LINES)
        for (_, width, _), cell in zip(columns, row, strict=True)
    ]


def _row_height(cells: Iterable[tuple[str, ...]]) -> float:
    return max((len(each) for each in cells), default=1) * fit.line_height(SMALL) + 2 * ROW_PAD


def _indent(line: str, style: Face, width: float, align: str) -> float:
    spare = width - 2 * PAD - style.width(line, SMALL)
    return PAD + {"L": 0.0, "C": spare / 2, "R": spare}[align]
