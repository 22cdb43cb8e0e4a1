"""Level readings: written down, listed, taken back."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import SignedVolume, Volume
from accounts.commands.entry import Answer, by_id
from accounts.gate import Made
from chemistry.api.ofvessel import Claims, OfVessel, ReversalIn
from chemistry.api.vessel import InVessels
from chemistry.commands import level
from chemistry.commands.level import Read
from chemistry.models import LevelReading
from darkroom_service.api import paging
from darkroom_service.api.fields import Flag, Id, InstantField
from darkroom_service.api.schema import PAGE, page_of


class LevelIn(Claims):
    """What was read off."""

    measured = Volume()


class LevelMade(Made):
    """A reading as written: its difference to the record, and whether a later look at the vessel prevails."""

    difference = SignedVolume()
    superseded = Flag()


class LevelOut(serializers.Serializer):
    """A reading."""

    id = Id(source="public_id")
    measured = Volume()
    difference = SignedVolume(help_text="To the record then; below zero is a loss.")
    by = Id(source="by.public_id")
    occurred_at = InstantField()
    recorded_at = InstantField(source="entry.recorded_at")
    taken_back = serializers.SerializerMethodField()

    def get_taken_back(self, row: LevelReading) -> bool:
        """Tell whether the reading was taken back."""
        return hasattr(row.entry, "reversal")


class InLevels(InVessels):
    """What every view of a vessel's readings looks among."""

    def levels(self, id: UUID) -> QuerySet[LevelReading]:
        """Return the readings of one vessel."""
        vessel = self.find(self.vessels(), id)
        return LevelReading.objects.filter(vessel=vessel).select_related("by", "entry__reversal")


class LevelView(OfVessel):
    """A new level reading."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.VESSEL_LEVEL}
    shape = LevelIn

    @extend_schema(operation_id="vessels_level", request=LevelIn, responses={201: LevelMade})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down what is really in a vessel; the difference goes to unaccounted, or comes from there."""
        return self.take(request, id, level.read, self._worded)

    def _worded(self, done: Read) -> Answer:
        row = done.reading
        made = self.made(f"vessels/{row.vessel.public_id}/levels")(row)
        told: dict[str, Any] = {"difference": SignedVolume().to_representation(row.difference)}
        return Answer(201, made.body | told | {"superseded": done.superseded}, made.location)


class LevelsView(InLevels):
    """The readings of one vessel."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_READ}

    @extend_schema(operation_id="vessels_levels_list", parameters=PAGE, responses=page_of(LevelOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List the level readings, the latest entry first."""
        return paging.page(request, self.levels(id), lambda found: LevelOut(found, many=True).data)


class LevelReadingView(InLevels):
    """One reading."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_READ}

    @extend_schema(operation_id="vessels_levels_read", responses=LevelOut)
    def get(self, request: Request, slug: str, id: UUID, level_id: UUID) -> Response:
        """Read a level reading."""
        return Response(LevelOut(self.find(self.levels(id), level_id)).data)


class ReversalView(InLevels):
    """The taking back of a reading."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.VESSEL_LEVEL_REVERSE}

    @extend_schema(operation_id="vessels_levels_reverse", request=ReversalIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID, level_id: UUID) -> Response:
        """Take a reading back with a reason: one's own at any time, others' as technician or instructor."""
        row, given = self.find(self.levels(id), level_id), ReversalIn.read(request.data)
        return self.answer(level.reverse(self.ask(request, word=by_id), row, **given))


urls = [
    path("vessels/<uuid:id>/level", LevelView.as_view()),
    path("vessels/<uuid:id>/levels", LevelsView.as_view()),
    path("vessels/<uuid:id>/levels/<uuid:level_id>", LevelReadingView.as_view()),
    path("vessels/<uuid:id>/levels/<uuid:level_id>/reversal", ReversalView.as_view()),
]
