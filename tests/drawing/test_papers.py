"""Papers: pages, tables that go on, totals, and what an archive asks for."""

from datetime import datetime
from io import BytesIO
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from darkroom_service.drawing.papers import Document

BERLIN = datetime(2026, 11, 25, 14, 3, tzinfo=ZoneInfo("Europe/Berlin"))
COLUMNS = [("Date", 24, "L"), ("What", 60, "L"), ("Volume", 22, "R")]


def log(rows: int, *, footer: str = "Head 0123abcd") -> bytes:
    made = Document("Waste log", "Ostufer", BERLIN, footer)
    made.heading("Every pour")
    made.paragraph("One.\nTwo.")
    made.table(COLUMNS, ([f"day {n}", "spent fixer", f"{n} mL"] for n in range(rows)), ["Total", "", "all of it"])
    return made.bytes()


def pages(content: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(BytesIO(content)).pages]


def test_a_long_table_goes_on_with_its_head_on_every_page_and_its_totals_at_the_end():
    found = pages(log(120))
    assert len(found) > 2
    assert all("Volume" in page and "Head 0123abcd" in page for page in found)
    assert [f"Page {number} of {len(found)}" in page for number, page in enumerate(found, 1)] == [True] * len(found)
    everything = "\n".join(found)
    assert all(f"day {number}" in everything for number in range(120))
    assert "all of it" in found[-1]


def test_it_says_when_it_was_printed_in_the_zone_given():
    assert "Printed 2026-11-25 14:03 CET" in pages(log(1))[0]


def test_the_same_paper_at_the_same_instant_is_alike_to_the_byte():
    assert log(30) == log(30)


def test_its_fonts_are_inside_and_it_is_marked_as_archival():
    """ISO 19005-2: an identification in the XMP metadata and every font embedded; from memory, no validator here."""
    read = PdfReader(BytesIO(log(3)))
    metadata = read.trailer["/Root"]["/Metadata"].get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in metadata
    assert "<pdfaid:conformance>U</pdfaid:conformance>" in metadata
    for font in read.pages[0]["/Resources"]["/Font"].values():
        inner = font.get_object()["/DescendantFonts"][0].get_object()
        assert "/FontFile2" in inner["/FontDescriptor"]


def test_a_long_cell_is_wrapped_and_nothing_of_it_lost():
    words = [f"word{number}" for number in range(60)]
    made = Document("Waste log", "", BERLIN)
    made.table(COLUMNS, [["1", " ".join(words), ""]])
    assert all(word in pages(made.bytes())[0] for word in words)


def test_a_row_of_the_wrong_length_is_refused():
    with pytest.raises(ValueError, match="2 cells"):
        Document("Waste log", "", BERLIN).table(COLUMNS, [["1", "2"]])


def test_columns_wider_than_the_page_are_narrowed():
    made = Document("Waste log", "", BERLIN)
    made.table([("A", 400, "L"), ("B", 400, "R")], [["left", "right"]])
    seen = []
    PdfReader(BytesIO(made.bytes())).pages[0].extract_text(
        visitor_text=lambda text, _, place, *__: seen.append((text.strip(), place[4]))
    )
    (edge,) = [x for text, x in seen if text == "right"]
    assert 0 < edge < 210 * 72 / 25.4
