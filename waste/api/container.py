"""Containers: what each holds, what still goes in, and in what state it is."""

from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import Code, Id, InstantField, Shape, Text
from darkroom_service.api.schema import PAGE, page_of
from waste.api.stream import StreamBrief
from waste.commands import container
from waste.models import Container, ContainerMaterial, ContainerState, Washing

NO_METAL = "say one of hdpe, pp, pet, glass; acid and fixer eat metal, and aluminium gives off hydrogen"


class ContainerEdit(Shape):
    """What may be said of a container afterwards; what is left out stays."""

    name = Text(max_length=120, required=False)
    location = Text(max_length=120, required=False, allow_blank=True)


class ContainerIn(Shape):
    """A new, empty container."""

    stream = Id()
    name = Text(max_length=120)
    material = serializers.ChoiceField(ContainerMaterial.choices, error_messages={"invalid_choice": NO_METAL})
    rated = Volume(positive=True, help_text="What it holds, brimful, by its maker's word.")
    working_fill = Volume(
        positive=True,
        required=False,
        help_text="What it is filled to; when left out, 90 % of rated.",
    )
    location = Text(max_length=120, required=False, allow_blank=True)
    occurred_at = InstantField(required=False, help_text="Since when it is in use.")


class ContainerOut(serializers.Serializer):
    """A container. ``room`` is what still goes in before the working fill; nothing when it is full or over."""

    id = Id(source="public_id")
    code = Text(max_length=12)
    name = Text(max_length=120)
    stream = StreamBrief()
    material = serializers.ChoiceField(ContainerMaterial.choices)
    location = Text(max_length=120)
    rated = Volume()
    working_fill = Volume()
    contents = Volume()
    room = serializers.SerializerMethodField()
    state = serializers.ChoiceField(ContainerState.choices)
    held = serializers.ListField(
        child=Code(max_length=40), help_text="The kinds of liquid it holds or last held, since it was last washed."
    )
    began_at = InstantField(source="began", allow_null=True, help_text="Since when something is in it.")
    opened_at = InstantField()
    closed_at = InstantField(allow_null=True)
    fills = serializers.SerializerMethodField()

    @extend_schema_field(Volume())
    def get_room(self, row: Container) -> dict[str, str]:
        """Return the room left."""
        return room(row)

    @extend_schema_field(serializers.CharField())
    def get_fills(self, row: Container) -> str:
        """Return the address of its pours."""
        return f"/api/v1/darkrooms/{self.context['slug']}/containers/{row.public_id}/fills"


class ReasonIn(Shape):
    """When, and why if that is worth a note."""

    reason = Text(max_length=500, required=False, allow_blank=True)
    occurred_at = InstantField(required=False)


class ClearingIn(ReasonIn):
    """What was found, and why it may be used again."""

    reason = Text(max_length=500)


class WashingIn(Shape):
    """How an empty container was rinsed out, and where the rinse went."""

    how = Text(max_length=500)
    occurred_at = InstantField(required=False)


class WashingOut(serializers.Serializer):
    """A washing: what the container held before is forgotten from there on."""

    id = Id(source="public_id")
    how = Text(max_length=500)
    by = Id(source="by.public_id")
    occurred_at = InstantField()


class Moved(Made):
    """The state a container is in now."""

    state = serializers.ChoiceField(ContainerState.choices)


def room(row: Container) -> dict[str, str]:
    """Word what still goes into a container."""
    return Volume().to_representation(max(row.room, 0))


def _moved(row: Container) -> Answer:
    return Answer(200, {"id": str(row.public_id), "state": row.state})


class ContainersView(ActView):
    """All containers of a darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.CONTAINER_READ, "POST": Act.CONTAINER_EDIT}

    @extend_schema(operation_id="containers_list", parameters=PAGE, responses=page_of(ContainerOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the containers."""

        def write(found: list[Container]) -> Any:
            return ContainerOut(found, many=True, context={"slug": slug}).data

        return paging.page(request, Container.objects.of(self.darkroom), write)

    @extend_schema(operation_id="containers_create", request=ContainerIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Set up a container."""
        given = ContainerIn.read(request.data)
        ask = self.ask(request, word=self.made("containers"), occurred_at=given.pop("occurred_at", None))
        return self.answer(container.create(ask, **given))


class ContainerView(ActView):
    """One container."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.CONTAINER_READ, "PATCH": Act.CONTAINER_EDIT}

    @extend_schema(operation_id="containers_read", responses=ContainerOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a container."""
        row = self.find(Container.objects.of(self.darkroom), id)
        return etag.answer(request, ContainerOut(row, context={"slug": slug}).data, row.public_id, row.version)

    @extend_schema(operation_id="containers_edit", request=ContainerEdit, responses=ContainerOut)
    def patch(self, request: Request, slug: str, id: UUID) -> Response:
        """Change a container's name or place."""
        row = self.find(Container.objects.of(self.darkroom), id)
        given = ContainerEdit.read(request.data)
        unchanged = partial(etag.check, request, row.public_id)
        container.edit(self.ask(request, word=_moved), row, given, unchanged=unchanged)
        return self.get(request, slug, id)


class StateView(ActView):
    """A change of a container's state; the classes below say which."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.CONTAINER_EDIT}

    def move(self, change: Any, shape: type[Shape], request: Request, id: UUID) -> Response:
        """Find the container and run one change of state."""
        row = self.find(Container.objects.of(self.darkroom), id)
        given = shape.read(request.data)
        ask = self.ask(request, word=_moved, occurred_at=given.pop("occurred_at", None))
        return self.answer(change(ask, row, **given))


class ClosingView(StateView):
    """The closing of a container."""

    @extend_schema(operation_id="containers_close", request=ReasonIn, responses={200: Moved})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Close a container: nothing more is planned into it."""
        return self.move(container.close, ReasonIn, request, id)


class ReopeningView(StateView):
    """The reopening of a closed container."""

    @extend_schema(operation_id="containers_reopen", request=ReasonIn, responses={200: Moved})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Open a closed container again."""
        return self.move(container.reopen, ReasonIn, request, id)


class ClearingView(StateView):
    """The end of a quarantine."""

    @extend_schema(operation_id="containers_clear", request=ClearingIn, responses={200: Moved})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """End a quarantine, saying what was found."""
        return self.move(container.clear, ClearingIn, request, id)


class WashingsView(ActView):
    """The washings of a container."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.CONTAINER_READ, "POST": Act.CONTAINER_EDIT}

    @extend_schema(operation_id="containers_washings", parameters=PAGE, responses=page_of(WashingOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List the washings of a container, the last written first."""
        held = self.find(Container.objects.of(self.darkroom), id)
        rows = Washing.objects.filter(container=held).select_related("by")
        return paging.page(request, rows, lambda found: WashingOut(found, many=True).data)

    @extend_schema(operation_id="containers_wash", request=WashingIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down that an empty container was washed."""
        held = self.find(Container.objects.of(self.darkroom), id)
        given = WashingIn.read(request.data)
        ask = self.ask(request, occurred_at=given.pop("occurred_at", None))
        return self.answer(container.wash(ask, held, **given))
