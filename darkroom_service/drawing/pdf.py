"""A PDF to draw on: embedded faces, archival marking, and nothing in it but what was asked for.

Written to the archival profile PDF/A-2u as the library checks it; no independent validator has confirmed it.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from html import escape
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from darkroom_service.drawing.typeface import FILES, clean

if TYPE_CHECKING:
    from fpdf import FPDF

FAMILY = "face"
PROFILE = "PDF/A-2U"
# Sizes in mm, upright. Source: ISO 216 for A4; US letter is 8.5 by 11 inches.
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
XMP = """<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/" xmp:CreateDate="{at}" xmp:ModifyDate="{at}" xmp:MetadataDate="{at}">
<pdfaid:part>2</pdfaid:part><pdfaid:conformance>U</pdfaid:conformance>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
</rdf:Description></rdf:RDF></x:xmpmeta>"""


def begin(title: str, at: datetime, size: tuple[float, float], *, head: Callable[[], None] | None = None,
          foot: Callable[[], None] | None = None) -> "FPDF":  # fmt: skip
    """Return an empty document whose pages are ``size`` mm; two of the same title, instant and drawing are alike.

    ``head`` and ``foot`` are called at the start and the end of every page.
    """
    from fpdf import FPDF  # noqa: PLC0415  a third of a second to load

    class Paged(FPDF):
        def header(self) -> None:
            if head is not None:
                head()

        def footer(self) -> None:
            if foot is not None:
                foot()

    page = Paged(unit="mm", format=size, enforce_compliance=PROFILE)
    page.set_auto_page_break(auto=False)
    page.set_margin(0)
    page.c_margin = 0
    for weight, file in FILES.items():
        page.add_font(FAMILY, weight.value, file)
    for font in page.fonts.values():
        _let_go(font)
    _stamp(page, clean(title), at)
    return page


def _stamp(page: "FPDF", title: str, at: datetime) -> None:
    stamp = at.astimezone(UTC).replace(microsecond=0)
    page.set_creation_date(stamp)
    page.set_xmp_metadata(XMP.format(at=stamp.isoformat(), title=escape(title)))
    page.set_title(title)
    page.set_lang("en")


def _let_go(font: Any) -> None:
    """Read on from memory: the library keeps the file of every face of every document open until it is collected."""
    reader = font.ttfont.reader
    opened, reader.file = reader.file, BytesIO(Path(reader.file.name).read_bytes())
    opened.close()
