"""How labels are asked for and answered: a size by its mm, as a picture or as pages."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.conf import settings
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers

from darkroom_service.api.fields import Shape
from darkroom_service.drawing import sheet
from darkroom_service.drawing.label import Label, lay_out
from darkroom_service.drawing.sizes import DEFAULT, SIZES
from darkroom_service.refusal import Malformed

SVG, PDF = "svg", "pdf"
MOST_LABELS = 200
TYPES = {SVG: "image/svg+xml", PDF: "application/pdf"}
# For ``extend_schema(responses=...)``.
DRAWN: Any = {(200, TYPES[SVG]): OpenApiTypes.STR, (200, TYPES[PDF]): OpenApiTypes.BINARY}


class LabelsQuery(Shape):
    """What to print on. Sizes are width by height in mm; with a paper's name it is a sheet of them."""

    format = serializers.ChoiceField([PDF, SVG], default=PDF, help_text="An SVG is one page.")
    size = serializers.ChoiceField(
        list(SIZES),
        default=DEFAULT,
        help_text="The smallest are for small bottles: what does not fit on them is behind the code to scan.",
    )
    start = serializers.IntegerField(
        min_value=1, max_value=100, default=1, help_text="The first place still free on a sheet, by rows from the left."
    )


class LabelQuery(LabelsQuery):
    """The same for one thing, of which several labels may be wanted."""

    copies = serializers.IntegerField(min_value=1, max_value=50, default=1)


def address(slug: str, code: str) -> str:
    """Return the public address that a label's code leads to."""
    return f"{settings.ORIGIN}/d/{slug}/{code}"


def printed(labels: Iterable[Label], query: dict[str, Any], title: str, at: datetime) -> HttpResponse:
    """Answer with labels, as asked for."""
    size, start, form = SIZES[query["size"]], query["start"], query["format"]
    if start > size.places:
        message = f"this size has {size.places} places; start is one of them"
        raise Malformed("label.place_unknown", message, pointer="/start", places=size.places)
    copies = query.get("copies", 1)
    drawings = [drawn for each in labels for drawn in [lay_out(each, size.width, size.height)] * copies]
    if form == PDF:
        return _file(sheet.as_pdf(size, drawings, title, at, start), PDF, title)
    if not 1 <= len(drawings) <= size.places - start + 1:
        free = size.places - start + 1
        message = f"a picture is one page, with room for {free} here; ask for a PDF of more"
        raise Malformed("label.one_page", message, pointer="/format", free=free)
    return _file(sheet.as_svg(size, drawings, title, start).encode(), SVG, title)


def _file(content: bytes, form: str, title: str) -> HttpResponse:
    name = "-".join(part for part in title.lower().split() if part.isascii() and part.isalnum()) or "label"
    headers = {"Content-Disposition": f'inline; filename="{name}.{form}"'}
    return HttpResponse(content, content_type=TYPES[form], headers=headers)
