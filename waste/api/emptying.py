"""The emptying of a container into another one or down the drain."""

from typing import ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from darkroom_service.api.fields import Flag, Id, InstantField, Shape, Text
from waste.api.drainwords import FigureIn, Ph
from waste.commands import emptying
from waste.commands.collecting import MORE
from waste.models import Collection, Container


class EmptyingIn(Shape):
    """Where a container's contents went: into ``container``, or, that being left out, down the drain."""

    container = Id(required=False)
    volume = Volume(positive=True, required=False, help_text="Left out, all that is in it.")
    acknowledged = Text(max_length=500, required=False, help_text="Who agreed where care is asked, and why.")
    water = Volume(required=False, help_text="Down the drain, then required: the water that goes along.")
    ph = Ph(required=False, help_text="Down the drain: measured, of what goes down.")
    figures = FigureIn(many=True, required=False, help_text="Down the drain: what was measured.")
    happened = Flag(default=True, help_text="True reports it, which is always written; false asks first.")
    occurred_at = InstantField(required=False)


class Emptied(Made):
    """What an emptying did: the pour or the release it made, by which it is taken back, and the rules it broke."""

    fill = Id(allow_null=True)
    release = Id(allow_null=True)
    volume = Volume()
    flags = serializers.ListField(child=Text(max_length=60))


INTO, DOWN = {"container", "acknowledged"}, {"water", "ph", "figures"}


class EmptyingView(ActView):
    """The emptying of a container."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.FILL_CREATE}

    @extend_schema(operation_id="containers_empty", request=EmptyingIn, responses={201: Emptied})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Pour a container into another, or let it down the drain under the rule; technicians and instructors."""
        held = self.find(Container.objects.of(self.darkroom), id)
        given = EmptyingIn.read(request.data)
        ask = self.ask(request, word=_emptied, occurred_at=given.pop("occurred_at", None))
        if not {"container", "water"} & given.keys():
            words = "Say which container it went into or, of the drain, how much water went along (0 is an answer)."
            raise serializers.ValidationError({"container": [words]})
        chosen = emptying.into if "container" in given else emptying.down
        other = (DOWN if "container" in given else INTO) & given.keys()
        if other:
            raise _stray(sorted(other))
        return self.answer(chosen(ask, held, **given))


def _stray(names: list[str]) -> serializers.ValidationError:
    words = "This is of the other way out: a container is named, or what goes down the drain is told."
    return serializers.ValidationError({name: [words] for name in names})


def _emptied(row: Collection) -> Answer:
    made = row.fill or row.release
    body = {
        "id": str(row.public_id),
        "fill": str(row.fill.public_id) if row.fill else None,
        "release": str(row.release.public_id) if row.release else None,
        "volume": Volume().to_representation(row.volume),
        "flags": [*(made.flags if made else []), *([MORE] if row.found else [])],
    }
    return Answer(201, body)
