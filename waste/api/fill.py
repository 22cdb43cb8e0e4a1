"""Fills: every pour into a container, and those taken back."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import SignedVolume, Volume
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, Flag, Id, InstantField, QuantityField, Shape, Text
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.quantity import Dimension
from waste.api.container import room
from waste.commands import container, fill
from waste.models import Container, ContainerState, Fill
from waste.science.compatibility import kinds


class FillIn(Shape):
    """A pour of something that stands in no vessel here: a found bottle, a rinse, a spill that was wiped up."""

    container = Id()
    stream = Id(allow_null=True, help_text="The stream the liquid belongs to; null when nobody knows what it is.")
    liquid = Code(
        max_length=40,
        required=False,
        help_text=f"With stream null, what it is where no stream here is for it: {', '.join(kinds())}.",
    )
    volume = Volume(positive=True)
    mass = QuantityField(Dimension.MASS, positive=True, required=False, help_text="Its weight, where one is known.")
    description = Text(max_length=500, help_text="What it is and where it came from. Leave people's names out.")
    source = serializers.ChoiceField(fill.BY_HAND, default=fill.MANUAL)  # type: ignore[assignment]
    absorbent = Text(max_length=120, required=False, help_text="What soaked a spill up: granules, cloths.")
    acknowledged = Text(
        max_length=500, required=False, help_text="Where care is asked: who agreed, and why it may go in here."
    )
    happened = Flag(
        default=True, help_text="True reports a pour, which is always written; false asks first and pours on a yes."
    )
    occurred_at = InstantField(required=False)
    on_behalf_of = Id(required=False, help_text="The member who poured, written down by a technician or instructor.")


class ReversalIn(Shape):
    """Why a pour is taken back."""

    reason = Text(max_length=500)


class ListedOut(serializers.Serializer):
    """A stream with its codes as they read when it was poured."""

    stream = Code(max_length=40)
    name = Text(max_length=120)
    list_code = Text(max_length=20)
    title = Text(max_length=300)
    hazardous = Flag()
    list_version = Text(max_length=20)
    us_codes = serializers.ListField(child=Text(max_length=4))


class FillOut(serializers.Serializer):
    """A pour, or one taken back: then its volume is below zero and ``reverses`` names it."""

    id = Id(source="public_id")
    container = Id(source="container.public_id")
    volume = SignedVolume(read_only=True)
    mass = serializers.SerializerMethodField()
    origin = serializers.DictField()
    listed = ListedOut()
    flags = serializers.ListField(child=serializers.CharField())
    acknowledged = Text(max_length=500)
    incident = serializers.SerializerMethodField()
    reverses = Id(source="reverses.public_id", allow_null=True)
    reversed_by = Id(source="reversed_by.public_id", allow_null=True)
    by = Id(source="entry.by.public_id")
    on_behalf_of = Id(source="entry.on_behalf_of.public_id", allow_null=True)
    occurred_at = InstantField()
    recorded_at = InstantField(source="entry.recorded_at")

    @extend_schema_field(QuantityField(Dimension.MASS, allow_null=True))
    def get_mass(self, row: Fill) -> dict[str, str] | None:
        """Return the weight told, if any."""
        return None if row.mass_g is None else {"value": str(row.mass_g), "unit": "g"}

    @extend_schema_field(Id(allow_null=True))
    def get_incident(self, row: Fill) -> str | None:
        """Return the incident it made, if any."""
        return str(row.incident.public_id) if hasattr(row, "incident") else None


class Poured(Made):
    """What a pour did: the rules it broke, how the container stands, and which takes over when that is full."""

    flags = serializers.ListField(child=serializers.CharField())
    container = Id()
    state = serializers.ChoiceField(ContainerState.choices)
    contents = Volume()
    room = Volume()
    next = Id(allow_null=True)
    incident = Id(allow_null=True)


class FillsView(ActView):
    """All pours of a darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FILL_READ, "POST": Act.FILL_CREATE}

    @extend_schema(operation_id="fills_list", parameters=PAGE, responses=page_of(FillOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the pours, the latest entry first."""
        return _page(request, Fill.objects.of(self.darkroom))

    @extend_schema(operation_id="fills_create", request=FillIn, responses={201: Poured})
    def post(self, request: Request, slug: str) -> Response:
        """Write down a pour that no vessel here accounts for."""
        body: Any = request.data
        given = FillIn.read(body)
        ask = self.ask(
            request,
            word=self._poured,
            occurred_at=given.pop("occurred_at", None),
            on_behalf_of=given.pop("on_behalf_of", None),
        )
        given["text"] = given.pop("description")
        if mass := given.pop("mass", None):
            given["mass"] = round(mass)
        return self.answer(fill.pour(ask, **given, typed=body["volume"]))

    def _poured(self, row: Fill) -> Answer:
        made, held = self.made("fills")(row), row.container
        spent = held.room <= 0 or held.state != ContainerState.OPEN
        other = container.next_open(self.darkroom, held.stream) if spent else None
        body = {
            "flags": row.flags,
            "container": str(held.public_id),
            "state": held.state,
            "contents": Volume().to_representation(held.contents),
            "room": room(held),
            "next": str(other.public_id) if other else None,
            "incident": str(row.incident.public_id) if hasattr(row, "incident") else None,
        }
        return Answer(made.status, made.body | body, made.location)


class ContainerFillsView(ActView):
    """The pours into one container."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FILL_READ}

    @extend_schema(operation_id="containers_fills", parameters=PAGE, responses=page_of(FillOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List the pours into a container, the latest entry first."""
        held = self.find(Container.objects.of(self.darkroom), id)
        return _page(request, Fill.objects.of(self.darkroom).filter(container=held))


class FillView(ActView):
    """One pour."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FILL_READ}

    @extend_schema(operation_id="fills_read", responses=FillOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a pour."""
        return Response(FillOut(self.find(Fill.objects.of(self.darkroom), id)).data)


class ReversalView(ActView):
    """The taking back of a pour."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.FILL_REVERSE}

    @extend_schema(operation_id="fills_reverse", request=ReversalIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Take back a pour that was written down by hand."""
        row = self.find(Fill.objects.of(self.darkroom), id)
        given = ReversalIn.read(request.data)
        return self.answer(fill.reverse(self.ask(request, word=self.made("fills")), row, **given))


def _page(request: Request, rows: QuerySet[Fill]) -> Response:
    def write(found: list[Fill]) -> Any:
        return FillOut(found, many=True).data

    return paging.page(request, rows, write)
