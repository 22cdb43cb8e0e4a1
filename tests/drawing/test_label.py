"""Labels never run over, whatever they are asked to say; measured with the font file's own widths."""

from datetime import UTC, datetime
from io import BytesIO
from xml.etree import ElementTree as ET

import pytest
import segno
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from darkroom_service.drawing import sheet
from darkroom_service.drawing.label import Label, lay_out
from darkroom_service.drawing.scene import Bar, Matrix, Pictogram, Text, codes
from darkroom_service.drawing.sizes import SIZES
from darkroom_service.drawing.typeface import FILES, Weight

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
ADDRESS = "https://darkroom.example.org/d/wall-street/7K3QF2"
HOSTILE = (
    "M" * 120,
    "W" * 60 + " " + "i" * 59,
    "fixer\u202egnp.exe\u2066",
    "a\u0301\u0302\u0303\u0304\u0305" * 20,
    "定影液" * 40,
    "\u0000\u0007<script>&\"'</script>" * 5,
    "مظهر " * 24,
    "👩🏽‍🔬 lab " * 12,
    "\ud800x",
    "ﷺ" * 40,
    " " * 120,
    "l\u00adi\u200bn\u2028e",
)


class Ruler:
    """Measures with the advances the font file states, by itself."""

    def __init__(self) -> None:
        self.fonts = {weight: TTFont(BytesIO(file.read_bytes())) for weight, file in FILES.items()}

    def width(self, item: Text) -> float:
        font = self.fonts[item.weight]
        names, advances = font.getBestCmap(), font["hmtx"]
        units = sum(advances[names[ord(each)]][0] for each in item.text)
        return units / font["head"].unitsPerEm * item.points * 25.4 / 72


RULER = Ruler()


def said(title: str = "Developer", **given: object) -> Label:
    given.setdefault("statements", ("Causes serious eye damage.", "May cause an allergic skin reaction."))
    return Label(
        title=title, code="7K3QF2", address=ADDRESS, lines=((title, False), ("Use by 2 Jan 2027", True)),
        signal="Danger", basis="Calculated, not tested.", **given,
    )  # fmt: skip


def boxes(drawing):
    """Return what each item covers: left, top, right, bottom in mm."""
    for item in drawing.items:
        if isinstance(item, Text):
            em = item.points * 25.4 / 72
            yield item, (item.x, item.y - 0.76 * em, item.x + RULER.width(item), item.y + 0.24 * em)
        elif isinstance(item, Bar):
            yield item, (item.x, item.y, item.x + item.width, item.y + item.height)
        else:
            yield item, (item.x, item.y, item.x + item.size, item.y + item.size)


def check_within(drawing):
    """Assert that nothing leaves the label, and that no text meets a pictogram or the code to scan."""
    found = list(boxes(drawing))
    marks = [box for item, box in found if isinstance(item, Pictogram | Matrix)]
    for item, (left, top, right, bottom) in found:
        assert left >= -0.01
        assert top >= -0.01
        assert right <= drawing.width + 0.01, item
        assert bottom <= drawing.height + 0.01, item
        if isinstance(item, Text):
            for a, b, c, d in marks:
                assert right <= a + 0.01 or left >= c - 0.01 or bottom <= b + 0.01 or top >= d - 0.01, item


@pytest.mark.parametrize("size", ["50x30", "62x100", "a4-64x38", "letter-102x51"])
@pytest.mark.parametrize("name", HOSTILE, ids=lambda name: ascii(name)[:16])
def test_a_hostile_name_stays_inside_every_size(size, name):
    for count in (0, 2, 4):
        label = said(name, pictograms=codes()[:count], cautions=(name,), banner="HAZARDOUS WASTE" if count else "")
        check_within(lay_out(label, SIZES[size].width, SIZES[size].height))


@settings(max_examples=40, deadline=None)
@given(
    st.text(max_size=120), st.lists(st.text(max_size=80), max_size=6), st.integers(0, 4), st.sampled_from(list(SIZES)),
    st.sampled_from([100.0, 946.0, 5000.0, 60000.0]),
)  # fmt: skip
def test_any_text_stays_inside(name, statements, count, size, holds):
    label = said(name, statements=tuple(statements), pictograms=codes()[:count], cautions=(name,), holds_ml=holds)
    check_within(lay_out(label, SIZES[size].width, SIZES[size].height))


def test_what_has_no_room_is_left_out_from_the_end_and_said():
    statements = tuple(f"Statement number {number} of a long list of hazards." for number in range(12))
    small = lay_out(said(statements=statements, pictograms=("GHS07",)), 50, 30)
    large = lay_out(said(statements=statements, pictograms=("GHS07",)), 100, 150)
    assert "Full list: scan." in " ".join(small.words())
    assert "Full list" not in " ".join(large.words())
    assert all(each in " ".join(large.words()) for each in statements)


def test_the_picture_and_the_page_say_the_same():
    drawing = lay_out(said(pictograms=("GHS05", "GHS07")), 100, 62)
    picture = ET.fromstring(sheet.as_svg(SIZES["100x62"], [drawing], "Label"))
    spoken = picture.find("{http://www.w3.org/2000/svg}desc").text
    pages = PdfReader(BytesIO(sheet.as_pdf(SIZES["100x62"], [drawing], "Label", AT))).pages
    read = pages[0].extract_text()
    assert spoken.split() == " ".join(drawing.words()).split()
    assert sorted(read.split()) == sorted(spoken.split())
    assert float(pages[0].mediabox.width) == pytest.approx(100 * 72 / 25.4, abs=0.01)


def test_the_code_to_scan_is_the_library_s_own_matrix_of_the_address():
    drawing = lay_out(said(), 62, 100)
    (drawn,) = [each for each in drawing.items if isinstance(each, Matrix)]
    own = segno.make(ADDRESS, error="m", micro=False).matrix
    assert drawn.modules == tuple(tuple(bool(cell) for cell in row) for row in own)
    assert sum(w * h for _, _, w, h in drawn.runs()) == pytest.approx(sum(map(sum, own)) * (drawn.size / len(own)) ** 2)


def test_a_pictogram_is_as_large_as_the_law_s_table_where_there_is_room():
    """CLP Annex I, table 1.3: side of 16 mm up to 3 L, 23 mm up to 50 L; read."""
    for holds, side in ((946.0, 16), (3000.0, 16), (3000.1, 23), (50_000.0, 23), (50_001.0, 32)):
        drawing = lay_out(said(pictograms=("GHS07",), holds_ml=holds), 100, 150)
        (mark,) = [each for each in drawing.items if isinstance(each, Pictogram)]
        assert mark.size * 0.97 / 2**0.5 == pytest.approx(side)


def test_there_are_nine_pictograms():
    assert codes() == tuple(f"GHS0{number}" for number in range(1, 10))


def test_a_sheet_starts_at_a_free_place_and_goes_on_to_the_next():
    size = SIZES["a4-64x38"]
    drawing = lay_out(said(), size.width, size.height)
    found = sheet.pages(size, [drawing] * 22, start=20)
    assert [len(page) for page in found] == [2, 20]
    right = max(x + size.width for x, _, _ in found[1])
    low = max(y + size.height for _, y, _ in found[1])
    assert right <= 210
    assert low <= 297
    assert found[0][0][:2] == pytest.approx(size.place(19))


@pytest.mark.parametrize("size", SIZES)
def test_every_place_of_a_sheet_is_on_the_paper_and_apart(size):
    cut = SIZES[size]
    across, down = cut.page
    places = [cut.place(index) for index in range(cut.places)]
    assert len(set(places)) == cut.places
    for x, y in places:
        assert x >= -0.01
        assert y >= -0.01
        assert x + cut.width <= across + 0.01
        assert y + cut.height <= down + 0.01


def test_the_same_label_at_the_same_instant_is_alike_to_the_byte():
    drawing = lay_out(said(pictograms=("GHS09",)), 100, 62)
    first, second = (sheet.as_pdf(SIZES["100x62"], [drawing], "Label", AT) for _ in range(2))
    assert first == second


def test_every_file_of_a_face_is_bold_or_regular():
    assert set(FILES) == set(Weight)
