"""The recall of a vessel: tell everybody who used it since its last good test, and see who has read it."""

from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from accounts.models import Membership
from chemistry.api.vessel import InVessels
from chemistry.commands import recalling
from chemistry.commands.recalling import Recall
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import Flag, Id, InstantField, Shape, Text
from darkroom_service.api.schema import PAGE, page_of


class RecallIn(Shape):
    """Why what was done with a vessel is in doubt."""

    reason = Text(max_length=500)


class RecallMade(serializers.Serializer):
    """A recall: since when the vessel is in doubt, and who was told."""

    id = Id(help_text="The vessel's.")
    since = InstantField(allow_null=True)
    told = serializers.ListField(child=Id())


class ReachedOut(serializers.Serializer):
    """Somebody who used a vessel since its last good test, or was told of a recall before."""

    id = Id()
    name = Text(max_length=120)
    told = Flag()
    told_at = InstantField(allow_null=True)
    read_at = InstantField(allow_null=True)


class RecallView(InVessels):
    """The recall of one vessel."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_RECALL, "POST": Act.VESSEL_RECALL}

    @extend_schema(operation_id="vessels_recall_list", parameters=PAGE, responses=page_of(ReachedOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List who used a vessel since its last good test, who was told, and who has read it."""
        vessel, at = self.find(self.vessels().select_related("batch"), id), clock.now()
        rows = Membership.objects.filter(pk__in=recalling.reached(vessel)).select_related("person", "darkroom")

        def write(found: list[Membership]) -> list[dict[str, Any]]:
            tellings = recalling.tellings(vessel, found)
            return [self._shown(each, tellings.get(each.pk), at) for each in found]

        return paging.page(request, rows, write)

    @extend_schema(operation_id="vessels_recall", request=RecallIn, responses={201: RecallMade})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Tell everybody who used a vessel since its last good test."""
        row = self.find(self.vessels(), id)
        return self.answer(recalling.recall(self.ask(request, word=_made), row, **RecallIn.read(request.data)))

    def _shown(self, member: Membership, telling: Any, at: Any) -> dict[str, Any]:
        seen = {
            "id": member.public_id,
            "name": member.name_for(self.member, at),
            "told": telling is not None,
            "told_at": telling and telling.posted_at,
            "read_at": telling and telling.read_at,
        }
        return dict(ReachedOut(seen).data)


def _made(done: Recall) -> Answer:
    told = {"id": done.vessel.public_id, "since": done.since, "told": [each.public_id for each in done.told]}
    return Answer(201, dict(RecallMade(told).data))


urls = [path("vessels/<uuid:id>/recall", RecallView.as_view())]
