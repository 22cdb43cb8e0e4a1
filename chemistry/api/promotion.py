"""Promotion: the second fixer of a line becomes its first."""

from typing import ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from chemistry.api.ofvessel import OfVessel
from chemistry.commands import promotion
from chemistry.commands.promotion import Promoted
from darkroom_service.api.fields import Id, Shape


class PromotionIn(Shape):
    """In which line, and the vessel that becomes its second fixer, if there is one."""

    line = Id()
    second = Id(required=False)


class PromotionOut(serializers.Serializer):
    """The fixers of the line now, and the one that left it, to be emptied."""

    line = Id()
    fixer_1 = Id()
    fixer_2 = Id(allow_null=True)
    to_be_emptied = Id()


class PromotionView(OfVessel):
    """The promotion of a second fixer."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.LINE_EDIT}
    shape = PromotionIn

    @extend_schema(operation_id="vessels_promote", request=PromotionIn, responses={200: PromotionOut})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Make a second fixer the first of its line, with its own load and date."""
        return self.take(request, id, promotion.promote, _worded)


def _worded(done: Promoted) -> Answer:
    ids = {"line": done.line, "fixer_1": done.first, "fixer_2": done.second, "to_be_emptied": done.leaves}
    return Answer(200, {name: str(row.public_id) if row else None for name, row in ids.items()})


urls = [path("vessels/<uuid:id>/promotion", PromotionView.as_view())]
