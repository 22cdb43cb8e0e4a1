"""Labels on their way to the printer: on a roll one after the other, on sheets from a place that is still free."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from darkroom_service.drawing import pdf, svg
from darkroom_service.drawing.scene import Bar, Drawing, Item, Matrix, Text, pictogram_file
from darkroom_service.drawing.sizes import Size

if TYPE_CHECKING:
    from fpdf import FPDF


def pages(size: Size, drawings: Sequence[Drawing], start: int = 1) -> list[list[svg.Placed]]:
    """Return what stands where on each page; ``start`` is the first free place of the first sheet, from 1."""
    placed: list[list[svg.Placed]] = []
    for number, drawing in enumerate(drawings, start - 1):
        page, place = divmod(number, size.places)
        if page == len(placed):
            placed.append([])
        placed[page].append((*size.place(place), drawing))
    return placed


def as_svg(size: Size, drawings: Sequence[Drawing], title: str, start: int = 1) -> str:
    """Return one page as SVG; ValueError where it takes more than one."""
    found = pages(size, drawings, start)
    if len(found) != 1:
        raise ValueError(f"{len(found)} pages do not go into one picture")
    return svg.page(*size.page, found[0], title)


def as_pdf(size: Size, drawings: Sequence[Drawing], title: str, at: datetime, start: int = 1) -> bytes:
    """Return all pages as PDF, stamped with an instant; alike to the byte for the same instant."""
    document = pdf.begin(title, at, size.page)
    for page in pages(size, drawings, start):
        document.add_page()
        for x, y, item in _items(page):
            _draw(document, x, y, item)
    return bytes(document.output())


def _items(page: Sequence[svg.Placed]) -> Iterator[tuple[float, float, Item]]:
    for x, y, drawing in page:
        yield from ((x, y, item) for item in drawing.items)


def _draw(document: "FPDF", x: float, y: float, item: Item) -> None:
    if isinstance(item, Text):
        document.set_font(pdf.FAMILY, item.weight.value, item.points)
        document.set_text_color(item.ink)
        document.text(x + item.x, y + item.y, item.text)
    elif isinstance(item, Bar):
        document.set_fill_color(item.ink)
        document.rect(x + item.x, y + item.y, item.width, item.height, style="F")
    elif isinstance(item, Matrix):
        document.set_fill_color(0)
        for left, top, width, height in item.runs():
            document.rect(x + left, y + top, width, height, style="F")
    else:
        document.image(pictogram_file(item.code), x + item.x, y + item.y, item.size, item.size)
