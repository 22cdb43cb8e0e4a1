"""Waste incidents: what should not have happened, and how it ended."""

from typing import Any, ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from darkroom_service.api import paging
from darkroom_service.api.fields import Flag, Id, InstantField, Shape, Text
from darkroom_service.api.schema import PAGE, page_of
from waste.commands import incident
from waste.models import Incident, IncidentKind, IncidentResolution


class IncidentIn(Shape):
    """What happened. First see to the people: leave the room, air it, fetch help; write it down after."""

    kind = serializers.ChoiceField(IncidentKind.choices)
    what = Text(max_length=1000, multiline=True, help_text="What, into what, how much. Leave people's names out.")
    container = Id(required=False, help_text="The waste container it concerns; it is quarantined.")
    occurred_at = InstantField(required=False)
    on_behalf_of = Id(required=False)


class ResolutionIn(Shape):
    """What was found and done; ``clear`` also ends the quarantine of its container."""

    words = Text(max_length=1000, multiline=True)
    clear = Flag(default=False)
    occurred_at = InstantField(required=False)


class ResolutionOut(serializers.Serializer):
    """How an incident ended."""

    words = Text(max_length=1000)
    by = Id(source="by.public_id")
    occurred_at = InstantField()


class IncidentOut(serializers.Serializer):
    """An incident; ``fill`` is the pour that made it, if one did."""

    id = Id(source="public_id")
    kind = serializers.ChoiceField(IncidentKind.choices)
    what = Text(max_length=1000)
    container = Id(source="container.public_id", allow_null=True)
    fill = Id(source="fill.public_id", allow_null=True)
    flags = serializers.ListField(child=Text(max_length=60))
    by = Id(source="by.public_id")
    occurred_at = InstantField()
    recorded_at = InstantField(source="entry.recorded_at")
    resolution = serializers.SerializerMethodField()

    @extend_schema_field(ResolutionOut(allow_null=True))
    def get_resolution(self, row: Incident) -> dict[str, Any] | None:
        """Return how it ended, if it did."""
        return dict(ResolutionOut(row.resolution).data) if hasattr(row, "resolution") else None


class IncidentsView(ActView):
    """All incidents of a darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.INCIDENT_READ, "POST": Act.INCIDENT_REPORT}

    @extend_schema(operation_id="waste_incidents_list", parameters=PAGE, responses=page_of(IncidentOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the incidents, the latest entry first."""
        rows = Incident.objects.of(self.darkroom)
        return paging.page(request, rows, lambda found: IncidentOut(found, many=True).data)

    @extend_schema(operation_id="waste_incidents_create", request=IncidentIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Write an incident down."""
        given = IncidentIn.read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        return self.answer(incident.report(self.ask(request, word=self.made("waste-incidents"), **claims), **given))


class IncidentView(ActView):
    """One incident."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.INCIDENT_READ}

    @extend_schema(operation_id="waste_incidents_read", responses=IncidentOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read an incident."""
        return Response(IncidentOut(self.find(Incident.objects.of(self.darkroom), id)).data)


class ResolutionView(ActView):
    """The end of an incident."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.INCIDENT_RESOLVE}

    @extend_schema(operation_id="waste_incidents_resolve", request=ResolutionIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """End an incident with what was found and done."""
        row = self.find(Incident.objects.of(self.darkroom), id)
        given = ResolutionIn.read(request.data)
        ask = self.ask(request, word=_ended, occurred_at=given.pop("occurred_at", None))
        return self.answer(incident.resolve(ask, row, **given))


def _ended(row: IncidentResolution) -> Answer:
    return Answer(201, {"id": str(row.incident.public_id)})
