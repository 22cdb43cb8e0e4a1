"""Stops: anyone's stop of a vessel, and the word of the qualified that it may be used again."""

from typing import ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer, by_id
from accounts.gate import Made
from chemistry.api.ofvessel import OfVessel, ReasonIn
from chemistry.api.vessel import InVessels
from chemistry.commands import stop
from chemistry.models import Lifting, Stop
from chemistry.models.stop import StopKind
from darkroom_service.api import paging
from darkroom_service.api.fields import Id, InstantField, Text
from darkroom_service.api.schema import PAGE, page_of


class LiftingOut(serializers.Serializer):
    """That a stop was lifted, when, why and by whom."""

    reason = Text(max_length=500)
    by = Id(source="by.public_id")
    occurred_at = InstantField()


class StopOut(serializers.Serializer):
    """A stop; ``lifting`` is null while it stands."""

    id = Id(source="public_id")
    kind = serializers.ChoiceField(StopKind.choices)
    reason = Text(max_length=500)
    by = Id(source="by.public_id")
    occurred_at = InstantField()
    lifting = serializers.SerializerMethodField()

    @extend_schema_field(LiftingOut(allow_null=True))
    def get_lifting(self, row: Stop) -> dict[str, object] | None:
        """Return the lifting, if there is one."""
        return dict(LiftingOut(row.lifting).data) if hasattr(row, "lifting") else None


class StopView(OfVessel):
    """A new stop."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.VESSEL_STOP}

    @extend_schema(operation_id="vessels_stop", request=ReasonIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Stop a vessel at once, with the reason; the technicians are told."""
        return self.take(request, id, stop.stop, by_id)


class StopsView(InVessels):
    """The stops of one vessel."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_READ}

    @extend_schema(operation_id="vessels_stops_list", parameters=PAGE, responses=page_of(StopOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List the stops, the latest first."""
        rows = Stop.objects.filter(vessel=self.find(self.vessels(), id)).select_related("by", "lifting__by")
        return paging.page(request, rows, lambda found: StopOut(found, many=True).data)


class LiftingView(OfVessel):
    """The lifting of all stops of a vessel."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.VESSEL_LIFT}

    @extend_schema(operation_id="vessels_lift", request=ReasonIn, responses={200: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Let a stopped vessel be used again; a failed test and a withdrawn batch are never lifted."""
        return self.take(request, id, stop.lift, _lifted)


def _lifted(row: Lifting) -> Answer:
    return Answer(200, {"id": str(row.stop.public_id)})


urls = [
    path("vessels/<uuid:id>/stop", StopView.as_view()),
    path("vessels/<uuid:id>/stops", StopsView.as_view()),
    path("vessels/<uuid:id>/lifting", LiftingView.as_view()),
]
