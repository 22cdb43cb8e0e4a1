"""May two kinds of waste meet: judged by kind, never by trying it out, and nothing is written."""

from collections.abc import Mapping
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import scope
from accounts.gate import ActView
from darkroom_service.api.fields import Code, Flag, Id, Shape, Text, Whole, fault
from darkroom_service.refusal import Malformed
from waste.models import Container, Stream
from waste.science import compatibility as rules
from waste.science.stream import starters

COMPUTED = "computed, not measured"
CAUTION = (
    "Never mix to try it out. Lid on, fan on, goggles and gloves; if two that must not meet have met, leave, air the "
    "room, fetch whoever answers for the waste, and write it down as an incident."
)


class SideIn(Shape):
    """One liquid: a stream of this darkroom, a kind of waste by its code, or what a container holds or last held."""

    stream = Id(required=False)
    kind = Code(max_length=40, required=False, help_text="Such as fixer, stop-bath or hypochlorite.")
    container = Id(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Ask for exactly one of the three."""
        if len(attrs) != 1:
            raise fault("side.untold", "give one of stream, kind and container")
        return attrs


class CompatibilityIn(Shape):
    """Two liquids that would meet."""

    liquid = SideIn()
    held = SideIn()


class CellOut(serializers.Serializer):
    """One cell of the group chart."""

    groups = serializers.ListField(child=Whole(low=1, high=200))
    codes = serializers.ListField(child=Text(max_length=2))
    status = Text(max_length=20)


class CompatibilityOut(serializers.Serializer):
    """The judgement. ``verdict`` is what the service does, ``grade`` how bad it is, ``reaction`` what would happen."""

    liquid = Text(max_length=40)
    held = Text(max_length=40)
    verdict = serializers.ChoiceField([each.value for each in rules.Verdict])
    grade = serializers.ChoiceField([each.value for each in rules.Grade])
    reaction = Text(max_length=200)
    effect = Text(max_length=60)
    words = Text(max_length=600)
    codes = serializers.ListField(child=Text(max_length=2))
    meanings = serializers.ListField(child=Text(max_length=60))
    cells = CellOut(many=True)
    known = Flag(help_text="False where nothing is kept about one of them: that is never a yes.")
    source = Text(max_length=400)  # type: ignore[assignment]
    status = Text(max_length=20)
    basis = Text(max_length=40)
    caution = Text(max_length=400)
    prevails = Text(max_length=300)


class CompatibilityView(ActView):
    """Whether two liquids may meet."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.ASSESSMENT_READ}
    keyed = False

    @extend_schema(operation_id="assessments_compatibility", request=CompatibilityIn, responses={200: CompatibilityOut})
    def post(self, request: Request, slug: str) -> Response:
        """Judge whether two liquids may meet, with the reaction by its name; writes nothing."""
        given = CompatibilityIn.read(request.data)
        one, other = (self._kinds(given[side], f"/{side}") for side in ("liquid", "held"))
        found = max((rules.worst(each, other) for each in one), key=lambda each: each.rank)
        meanings = [rules.meaning(code) for code in found.codes]
        figures = {**vars(found), "verdict": found.verdict.value, "grade": found.grade.value, "words": found.says}
        told = {"meanings": meanings, "basis": COMPUTED, "caution": CAUTION, "prevails": rules.DEFER}
        return Response(CompatibilityOut({**figures, **told}).data)

    def _kinds(self, side: Mapping[str, Any], pointer: str) -> list[str]:
        """Return the kinds a side stands for; a container for all it holds or last held."""
        if "kind" in side:
            if side["kind"] in rules.kinds() or side["kind"] in starters():
                return [side["kind"]]
            allowed = ", ".join(sorted(rules.kinds().keys() | starters().keys()))
            words = f"{side['kind']} is no kind of waste kept here; use one of {allowed}."
            raise Malformed("kind.unknown", words, pointer=f"{pointer}/kind")
        if "stream" in side:
            mine = Stream.objects.filter(darkroom=self.darkroom)
            return [scope.named(mine, side["stream"], pointer=f"{pointer}/stream", noun="stream").sort]
        known = Container.objects.of(self.darkroom)
        held = scope.named(known, side["container"], pointer=f"{pointer}/container", noun="container")
        return list(held.held) or [held.stream.sort]
