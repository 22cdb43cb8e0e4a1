"""Lines: the vessels a process uses now."""

from functools import partial
from typing import ClassVar
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import changed_by_id
from accounts.gate import ActView, Made
from chemistry.commands import line
from chemistry.models import Line, LineStep, StepRole
from chemistry.science.formula import Material, Process
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import Id, InstantField, Shape, Text
from darkroom_service.api.schema import PAGE, page_of

MOST_STEPS = len(StepRole)


class LineStepIn(Shape):
    """One step: the vessel, and the container its spent liquid goes to, if it goes to one."""

    role = serializers.ChoiceField(StepRole.choices)
    vessel = Id()
    container = Id(required=False, allow_null=True)


class LineEdit(Shape):
    """What may change: the name, and all steps at once."""

    name = Text(max_length=120, required=False)
    steps = serializers.ListField(child=LineStepIn(), min_length=1, max_length=MOST_STEPS, required=False)


class LineIn(LineEdit):
    """A new line."""

    name = Text(max_length=120)
    process = serializers.ChoiceField([each.value for each in Process])
    film_or_paper = serializers.ChoiceField([each.value for each in Material])
    steps = serializers.ListField(child=LineStepIn(), min_length=1, max_length=MOST_STEPS)


class RowRef(serializers.Serializer):
    """A row by id and label code."""

    id = Id(source="public_id")
    code = Text(max_length=12)


class LineStepOut(serializers.Serializer):
    """One step of a line."""

    role = serializers.ChoiceField(StepRole.choices)
    vessel = RowRef()
    container = RowRef(allow_null=True)


class LineOut(serializers.Serializer):
    """A line with its steps, in the order liquids follow."""

    id = Id(source="public_id")
    name = Text(max_length=120)
    process = serializers.ChoiceField([each.value for each in Process])
    film_or_paper = serializers.ChoiceField([each.value for each in Material])
    steps = LineStepOut(many=True)
    retired_at = InstantField(allow_null=True)


class InLines(ActView):
    """What every view of lines looks among."""

    def lines(self) -> QuerySet[Line]:
        """Return the lines of this darkroom with their steps."""
        steps = LineStep.objects.select_related("vessel", "container")
        return Line.objects.filter(darkroom=self.darkroom).prefetch_related(Prefetch("steps", steps))


class LinesView(InLines):
    """All lines."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.LINE_READ, "POST": Act.LINE_EDIT}

    @extend_schema(operation_id="lines_list", parameters=PAGE, responses=page_of(LineOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the lines, the latest first; retired ones too."""
        return paging.page(request, self.lines(), lambda found: LineOut(found, many=True).data)

    @extend_schema(operation_id="lines_create", request=LineIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Set up a line."""
        return self.answer(line.create(self.ask(request, word=self.made("lines")), **LineIn.read(request.data)))


class LineView(InLines):
    """One line."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.LINE_READ, "PATCH": Act.LINE_EDIT}

    @extend_schema(operation_id="lines_read", responses=LineOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a line."""
        row = self.find(self.lines(), id)
        return etag.answer(request, LineOut(row).data, row.public_id, row.version)

    @extend_schema(operation_id="lines_edit", request=LineEdit, responses=LineOut)
    def patch(self, request: Request, slug: str, id: UUID) -> Response:
        """Rename a line or give it other vessels."""
        row = self.find(Line.objects.filter(darkroom=self.darkroom), id)
        unchanged = partial(etag.check, request, row.public_id)
        line.edit(self.ask(request), row, unchanged=unchanged, **LineEdit.read(request.data))
        return self.get(request, slug, id)


class RetirementView(ActView):
    """The end of a line."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.LINE_EDIT}

    @extend_schema(operation_id="lines_retire", request=Shape, responses={200: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Take a line out of use."""
        row = self.find(Line.objects.filter(darkroom=self.darkroom), id)
        Shape.read(request.data)
        return self.answer(line.retire(self.ask(request, word=changed_by_id), row))


urls = [
    path("lines", LinesView.as_view()),
    path("lines/<uuid:id>", LineView.as_view()),
    path("lines/<uuid:id>/retirement", RetirementView.as_view()),
]
