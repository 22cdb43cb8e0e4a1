"""Breaks between terms: list, write down, change, take back."""

from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import changed_by_id
from accounts.gate import ActView, Made
from chemistry.commands import termbreak
from chemistry.models import TermBreak
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import DayField, Id, InstantField, Shape, Text
from darkroom_service.api.schema import PAGE, page_of


class TermBreakIn(Shape):
    """A break; both days are within it."""

    name = Text(max_length=120)
    first_day = DayField()
    last_day = DayField()


class TermBreakEdit(Shape):
    """What may change; what is left out stays."""

    name = Text(max_length=120, required=False)
    first_day = DayField(required=False)
    last_day = DayField(required=False)


class TermBreakOut(serializers.Serializer):
    """A break between terms. Use in it is not averaged, and looking ahead passes over it."""

    id = Id(source="public_id")
    name = Text(max_length=120)
    first_day = DayField()
    last_day = DayField()
    cancelled_at = InstantField(allow_null=True)


class TermBreaksView(ActView):
    """All breaks."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TERM_BREAK_READ, "POST": Act.TERM_BREAK_EDIT}

    @extend_schema(operation_id="term_breaks_list", parameters=PAGE, responses=page_of(TermBreakOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the breaks, those taken back among them."""
        rows = TermBreak.objects.filter(darkroom=self.darkroom)
        return paging.page(request, rows, lambda found: TermBreakOut(found, many=True).data)

    @extend_schema(operation_id="term_breaks_create", request=TermBreakIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Write a break down."""
        given = TermBreakIn.read(request.data)
        return self.answer(termbreak.create(self.ask(request, word=self.made("term-breaks")), **given))


class TermBreakView(ActView):
    """One break."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TERM_BREAK_READ, "PATCH": Act.TERM_BREAK_EDIT}

    @extend_schema(operation_id="term_breaks_read", responses=TermBreakOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a break."""
        row = self.find(TermBreak.objects.filter(darkroom=self.darkroom), id)
        return etag.answer(request, TermBreakOut(row).data, row.public_id, row.version)

    @extend_schema(operation_id="term_breaks_edit", request=TermBreakEdit, responses=TermBreakOut)
    def patch(self, request: Request, slug: str, id: UUID) -> Response:
        """Change a break."""
        row = self.find(TermBreak.objects.filter(darkroom=self.darkroom), id)
        changes: dict[str, Any] = TermBreakEdit.read(request.data)
        unchanged = partial(etag.check, request, row.public_id)
        termbreak.edit(self.ask(request, word=changed_by_id), row, changes, unchanged=unchanged)
        return self.get(request, slug, id)


class CancellationView(ActView):
    """The taking back of a break."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.TERM_BREAK_EDIT}

    @extend_schema(operation_id="term_breaks_cancel", request=Shape, responses={200: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Take a break back."""
        row = self.find(TermBreak.objects.filter(darkroom=self.darkroom), id)
        Shape.read(request.data)
        return self.answer(termbreak.cancel(self.ask(request, word=changed_by_id), row))


urls = [
    path("term-breaks", TermBreaksView.as_view()),
    path("term-breaks/<uuid:id>", TermBreakView.as_view()),
    path("term-breaks/<uuid:id>/cancellation", CancellationView.as_view()),
]
