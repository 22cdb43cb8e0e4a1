"""Darkrooms: open one, list one's own, read and change settings."""

from collections.abc import Iterable
from decimal import Decimal
from functools import partial
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.acts import Act
from accounts.commands import darkroom
from accounts.commands.entry import Answer, Ask
from accounts.gate import ActView, Made
from accounts.models import Darkroom, Membership, SecondPerson
from accounts.models.darkroom import CountryRules
from darkroom_service import quantity
from darkroom_service.api import etag, keys, paging
from darkroom_service.api.fields import Code, DecimalText, Id, QuantityField, Shape, Text, Whole, fault
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.quantity import Dimension


class Volume(QuantityField):
    """A volume outside, a count of 0.1 mL inside."""

    def __init__(self, **options: Any) -> None:
        super().__init__(Dimension.VOLUME, **options)

    def to_internal_value(self, data: Any) -> Any:
        """Return the count."""
        count = quantity.tenths(super().to_internal_value(data))
        if self.positive and count == 0:
            raise fault("quantity.zero", "less than the 0.1 mL that is counted here")
        return count

    def to_representation(self, value: Any) -> dict[str, str]:
        """Return the volume in millilitres."""
        return super().to_representation(quantity.millilitres(value))


@extend_schema_field(
    {
        "type": "object",
        "required": ["value", "unit"],
        "properties": {"value": {"type": "string", "pattern": r"^-?\d+\.\d$"}, "unit": {"const": "mL"}},
    }
)
class SignedVolume(Volume):
    """A volume that may be below zero: a loss, or what was taken back."""


class Hundredths(DecimalText):
    """A number of at most two decimals outside, a count of hundredths inside."""

    def __init__(self, **options: Any) -> None:
        super().__init__(places=2, **options)

    def to_internal_value(self, data: Any) -> Any:
        """Return the count."""
        return int(super().to_internal_value(data) * 100)

    def to_representation(self, value: Any) -> str:
        """Return the number, with two decimals."""
        return super().to_representation(Decimal(value).scaleb(-2))


class RoomVolume(Hundredths):
    """The air in a room, in cubic metres."""

    def __init__(self, **options: Any) -> None:
        super().__init__(low=1, high=100_000, help_text="The room's air, in m3.", **options)


class AirChanges(Hundredths):
    """How often an hour the room's air is changed."""

    def __init__(self, **options: Any) -> None:
        super().__init__(low=0, high=200, help_text="How often an hour the room's air is changed.", **options)


class Settings(Shape):
    """What an admin may change; what is left out stays."""

    name = Text(max_length=120, required=False)
    zone = Text(max_length=60, required=False, help_text="A time zone by name, such as Europe/Berlin.")
    country_rules = serializers.ChoiceField(CountryRules.choices, required=False)
    emergency_text = Text(max_length=2000, multiline=True, allow_blank=True, required=False)
    second_person_mixing = serializers.ChoiceField(SecondPerson.choices, required=False)
    second_person_release = serializers.ChoiceField(SecondPerson.choices, required=False)
    second_person_pickup = serializers.ChoiceField(SecondPerson.choices, required=False)
    carry_out_film = Volume(required=False, help_text="Carried out on film by each roll unit.")
    carry_out_paper = Volume(required=False, help_text="Carried out on paper by each roll unit.")
    loss_percent = Whole(low=0, high=100, required=False, help_text="A loss is told of above this share, and ...")
    loss_volume = Volume(required=False, help_text="... above this volume.")
    hold_minutes = Whole(low=5, high=1440, required=False, help_text="How long a tank plan holds load and volume.")
    tank_sizes = serializers.ListField(child=Volume(positive=True), max_length=50, required=False)
    room_volume = RoomVolume(required=False, allow_null=True)
    air_changes = AirChanges(required=False, allow_null=True)

    def validate_tank_sizes(self, sizes: Iterable[int]) -> list[int]:
        """Keep each size once, smallest first."""
        return sorted(set(sizes))


class DarkroomIn(Settings):
    """A new darkroom; settings left out have defaults."""

    slug = Code(max_length=40, help_text="Its address: small letters, digits and single hyphens. It never changes.")
    name = Text(max_length=120)
    zone = Text(max_length=60, help_text="A time zone by name, such as Europe/Berlin.")
    currency = Text(max_length=3, help_text="Three capital letters, such as EUR. It never changes.")

    def validate_slug(self, slug: str) -> str:
        """Keep to what also stands in login names."""
        if "." in slug or "_" in slug:
            raise fault("slug.malformed", "an address has small letters, digits and single hyphens, like elm-street")
        return slug


class DarkroomItem(serializers.Serializer):
    """A darkroom in the list of one's own."""

    id = Id(source="public_id")
    slug = Code(max_length=40)
    name = Text(max_length=120)
    zone = Text(max_length=60)


class Proposed(serializers.Serializer):
    """The second-person setting that fits how many could be the second person."""

    qualified = Whole(low=0, high=1_000_000)
    second_person = serializers.ChoiceField(SecondPerson.choices)


class DarkroomOut(DarkroomItem):
    """A darkroom with its settings."""

    country_rules = serializers.ChoiceField(CountryRules.choices)
    currency = Text(max_length=3)
    emergency_text = Text(max_length=2000)
    second_person_mixing = serializers.ChoiceField(SecondPerson.choices)
    second_person_release = serializers.ChoiceField(SecondPerson.choices)
    second_person_pickup = serializers.ChoiceField(SecondPerson.choices)
    carry_out_film = Volume()
    carry_out_paper = Volume()
    loss_percent = Whole(low=0, high=100)
    loss_volume = Volume()
    hold_minutes = Whole(low=5, high=1440)
    tank_sizes = serializers.ListField(child=Volume())
    room_volume = RoomVolume(allow_null=True)
    air_changes = AirChanges(allow_null=True)
    proposed = serializers.SerializerMethodField()

    @extend_schema_field(Proposed)
    def get_proposed(self, room: Darkroom) -> dict[str, Any]:
        """Return the proposal."""
        qualified = darkroom.qualified(room)
        return {"qualified": qualified, "second_person": SecondPerson.proposed(qualified).value}


class Opened(Made):
    """A darkroom opened."""

    slug = Code(max_length=40)


def _opened(room: Darkroom) -> Answer:
    return Answer(201, {"id": str(room.public_id), "slug": room.slug}, f"/api/v1/darkrooms/{room.slug}")


def _edited(done: darkroom.Edited) -> Answer:
    return Answer(200, {"id": str(done.darkroom.public_id), "changed": done.changed})


class DarkroomsView(APIView):
    """All darkrooms one belongs to."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DARKROOM_READ, "POST": Act.DARKROOM_CREATE}

    @extend_schema(operation_id="darkrooms_list", parameters=PAGE, responses=page_of(DarkroomItem))
    def get(self, request: Request) -> Response:
        """List the darkrooms one belongs to."""
        mine = Membership.objects.active().filter(person=request.user.pk)
        rows = Darkroom.objects.filter(pk__in=mine.values("darkroom"))
        return paging.page(request, rows, lambda found: DarkroomItem(found, many=True).data)

    @extend_schema(operation_id="darkrooms_create", request=DarkroomIn, responses={201: Opened})
    def post(self, request: Request) -> Response:
        """Open a darkroom and become its first admin."""
        given = DarkroomIn.read(request.data)
        said = keys.digest("POST", request.path, request.data)
        founder: Any = request.user
        ask = Ask(0, founder.pk, keys.idempotency_key(request), said, word=_opened)
        return ActView.answer(darkroom.create(ask, slug=given.pop("slug"), settings=given))


class DarkroomView(ActView):
    """One darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DARKROOM_READ, "PATCH": Act.DARKROOM_EDIT}

    @extend_schema(operation_id="darkrooms_read", responses=DarkroomOut)
    def get(self, request: Request, slug: str) -> Response:
        """Read a darkroom's settings."""
        room = self.darkroom
        return etag.answer(request, DarkroomOut(room).data, room.public_id, room.version)

    @extend_schema(operation_id="darkrooms_edit", request=Settings, responses=DarkroomOut)
    def patch(self, request: Request, slug: str) -> Response:
        """Change settings."""
        unchanged = partial(etag.check, request, self.darkroom.public_id)
        darkroom.edit(self.ask(request, word=_edited), Settings.read(request.data), unchanged=unchanged)
        self.darkroom.refresh_from_db()
        return self.get(request, slug)
