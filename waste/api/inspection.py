"""Inspections: the weekly look at each container."""

from typing import ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView, Made
from darkroom_service.api import paging
from darkroom_service.api.fields import Flag, Id, InstantField, Shape, Text
from darkroom_service.api.schema import PAGE, page_of
from waste.commands import inspection
from waste.models import Container, Inspection


class InspectionIn(Shape):
    """What was found; true is in order."""

    lid = Flag(help_text="The lid is shut.")
    leak = Flag(help_text="Nothing leaks.")
    label = Flag(help_text="The label is on and can be read.")  # type: ignore[assignment]
    bund = Flag(help_text="It stands in a tray or bund that is dry and sound.")
    note = Text(max_length=500, required=False, allow_blank=True)
    occurred_at = InstantField(required=False)


class InspectionOut(serializers.Serializer):
    """A look at a container; ``faults`` say what was not in order."""

    id = Id(source="public_id")
    lid = Flag()
    leak = Flag()
    label = Flag()  # type: ignore[assignment]
    bund = Flag()
    faults = serializers.SerializerMethodField()
    note = Text(max_length=500)
    by = Id(source="by.public_id")
    occurred_at = InstantField()
    recorded_at = InstantField(source="entry.recorded_at")

    @extend_schema_field(serializers.ListField(child=Text(max_length=100)))
    def get_faults(self, row: Inspection) -> list[str]:
        """Return the faults in words."""
        return inspection.faults(row)


class InspectionsView(ActView):
    """The inspections of a container."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.CONTAINER_READ, "POST": Act.CONTAINER_INSPECT}

    @extend_schema(operation_id="containers_inspections", parameters=PAGE, responses=page_of(InspectionOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List the inspections of a container, the last written first."""
        held = self.find(Container.objects.of(self.darkroom), id)
        rows = Inspection.objects.filter(container=held).select_related("by", "entry")
        return paging.page(request, rows, lambda found: InspectionOut(found, many=True).data)

    @extend_schema(operation_id="containers_inspect", request=InspectionIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down a look at a container."""
        held = self.find(Container.objects.of(self.darkroom), id)
        given = InspectionIn.read(request.data)
        ask = self.ask(request, occurred_at=given.pop("occurred_at", None))
        return self.answer(inspection.record(ask, held, **given))
