"""The film and paper formats that bodies name, so that they can be found."""

from typing import Any, ClassVar

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView
from chemistry.science import film
from chemistry.science.formula import Material
from chemistry.science.load import text as load_text
from darkroom_service.api.fields import QuantityField, Text, Whole
from darkroom_service.api.query import QueryShape
from darkroom_service.quantity import Dimension, load_units

MATERIALS = [each.value for each in Material]


class FormatFilter(QueryShape):
    """Which formats to list."""

    material = serializers.ChoiceField(MATERIALS, required=False)


class FormatOut(serializers.Serializer):
    """A format: what one roll, sheet or length of it charges to a bath."""

    code = Text(max_length=40)
    name = Text(max_length=120)
    material = serializers.ChoiceField(MATERIALS)
    load = Text(max_length=20, help_text="Roll units.")
    load_units = Whole(low=1, high=10**15, help_text="The same in 1/3600 roll unit, exact.")
    area = QuantityField(Dimension.AREA, help_text="Coated area.")
    source = Text(max_length=300, help_text="Where the figures come from.")  # type: ignore[assignment]


class FormatsOut(serializers.Serializer):
    """All formats; any other sheet is named by its size, such as paper-203x305mm or sheet-90x120mm."""

    items = FormatOut(many=True)


class FormatsView(ActView):
    """The table of formats."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ}

    @extend_schema(operation_id="formats_list", parameters=[FormatFilter], responses=FormatsOut)
    def get(self, request: Request, slug: str) -> Response:
        """List the film and paper formats there are."""
        material = FormatFilter.read_query(request).get("material")
        rows = [each for each in film.FORMATS.values() if material in {None, each.material}]
        return Response({"items": FormatOut([_shown(each) for each in rows], many=True).data})


def _shown(row: film.Format) -> dict[str, Any]:
    units = load_units(row.load)
    facts = {name: getattr(row, name) for name in ("code", "name", "material", "source")}
    return facts | {"load": load_text(units), "load_units": units, "area": row.area_cm2}


urls = [path("formats", FormatsView.as_view())]
