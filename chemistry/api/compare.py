"""Formulas set side by side by what their computed figures say, as a table and as a picture."""

from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView
from chemistry.api.comparepicture import drawn
from chemistry.commands import compare
from chemistry.commands.compare import Compared
from chemistry.science.comparison import ROWS
from chemistry.science.formula import Kind
from chemistry.science.hazard.classify import CALCULATED
from darkroom_service import clock
from darkroom_service.api.fields import Code, Id, Shape, Text, Whole

WANTED = OpenApiParameter(
    "formula",
    {"type": "array", "items": {"type": "string", "format": "uuid"}, "minItems": 2, "maxItems": 6, "uniqueItems": True},
    OpenApiParameter.QUERY,
    required=True,
    explode=True,
    description="Two to six formulas, each by its id: ?formula=ID&formula=ID.",
)


class CompareQuery(Shape):
    """Which formulas."""

    formula = serializers.ListField(child=Id(), max_length=20, default=list)


class FigureOut(serializers.Serializer):
    """One figure. ``value`` is text, a number as its digits; null where ``missing`` says what is not known."""

    name = serializers.ChoiceField(list(ROWS))
    at = Text(max_length=120, help_text="At which strength, use or activity.")
    value = Text(max_length=2000, allow_null=True)
    unit = Text(max_length=60)
    trail = Text(max_length=1000, help_text="Where it comes from.")
    missing = Text(max_length=2000, help_text="What is not known of it.")


class ComparedOut(serializers.Serializer):
    """One formula with its figures."""

    formula = Id(source="formula.public_id")
    code = Code(source="formula.code")
    name = Text(max_length=120, source="formula.name")
    version = Whole(low=1, high=32767, source="version.number")
    kind = serializers.ChoiceField([each.value for each in Kind], source="version.rules.kind.value")
    figures = FigureOut(many=True)


class RowOut(serializers.Serializer):
    """A row of the table and its words."""

    name = serializers.ChoiceField(list(ROWS))
    words = Text(max_length=60)


class CompareOut(serializers.Serializer):
    """Formulas side by side. Nothing is scored and nothing added up: what matters is for people to weigh."""

    rows = RowOut(many=True)
    items = ComparedOut(many=True)
    prevails = Text(max_length=200)


class CompareView(ActView):
    """The table."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ}

    @extend_schema(operation_id="formulas_compare", parameters=[WANTED], responses=CompareOut)
    def get(self, request: Request, slug: str) -> Response:
        """Set formulas side by side: cost, capacity, keeping, hazards, training, waste, each with its trail."""
        rows = [{"name": name, "words": words} for name, words in ROWS.items()]
        found = {"rows": rows, "items": self.compared(request), "prevails": CALCULATED}
        return Response(CompareOut(found).data)

    def compared(self, request: Request) -> list[Compared]:
        """Return what was asked for."""
        given = {name: request.query_params.getlist(name) for name in request.query_params}
        wanted: list[UUID] = CompareQuery.read(given)["formula"]
        return compare.compared(self.darkroom, wanted, clock.now())


class PictureView(CompareView):
    """The picture."""

    @extend_schema(
        operation_id="formulas_compare_picture",
        parameters=[WANTED],
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
    )
    def get(self, request: Request, slug: str) -> Any:
        """Draw the same table as a picture, with numbers as text and bars beside them."""
        return HttpResponse(drawn(self.compared(request)), content_type="image/svg+xml; charset=utf-8")


urls = [
    path("formulas/compare", CompareView.as_view()),
    path("formulas/compare.svg", PictureView.as_view()),
]
