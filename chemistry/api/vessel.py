"""Vessels: list, read, label a new one, rename. What is told of one of them has modules of its own."""

from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from chemistry.api.vesselout import VesselDetailOut, VesselOut, guarded, shown
from chemistry.commands import replenishment, standing, vessel
from chemistry.models import Vessel, VesselState
from chemistry.models.vessel import VesselMaterial
from chemistry.science.formula import Material, Process
from darkroom_service import clock
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import DayField, Id, Shape, Text
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of


class VesselIn(Shape):
    """A new vessel, empty. With an owner it is that person's own bottle, taken away by ``leave_by``."""

    name = Text(max_length=120)
    nominal = Volume(positive=True)
    material = serializers.ChoiceField(VesselMaterial.choices)
    owner = Id(required=False)
    leave_by = DayField(required=False)


class VesselEdit(Shape):
    """What may change; what is left out stays."""

    name = Text(max_length=120, required=False)
    leave_by = DayField(required=False)


class VesselFilter(QueryShape):
    """Which vessels to list."""

    state = serializers.ChoiceField(VesselState.choices, required=False, help_text="As of now.")
    batch = Id(required=False)
    owner = Id(required=False, help_text="Whose own bottles.")
    process = serializers.ChoiceField([each.value for each in Process], required=False)
    film_or_paper = serializers.ChoiceField([each.value for each in Material], required=False)


class VesselMade(Made):
    """A new vessel: its id and the code for its label."""

    code = Text(max_length=12)


class InVessels(ActView):
    """What every view of vessels looks among."""

    def vessels(self) -> QuerySet[Vessel]:
        """Return the vessels of this darkroom."""
        return Vessel.objects.filter(darkroom=self.darkroom)

    def shown(self) -> QuerySet[Vessel]:
        """Return the same with all that is shown of each, in one query."""
        rows: Any = self.vessels()
        return replenishment.with_added(rows.with_contents().with_held(clock.now()))

    def judged(self, row: Vessel) -> dict[str, Any]:
        """Return a vessel as of now."""
        return shown(row, clock.now(), self.darkroom.zone)


class VesselsView(InVessels):
    """All vessels."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_READ, "POST": Act.VESSEL_CREATE}

    @extend_schema(operation_id="vessels_list", parameters=[VesselFilter, *PAGE], responses=page_of(VesselOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the vessels, the latest first."""
        rows = self._filtered(request)
        return paging.page(request, rows, lambda found: [self.judged(row) for row in found])

    @extend_schema(operation_id="vessels_create", request=VesselIn, responses={201: VesselMade})
    def post(self, request: Request, slug: str) -> Response:
        """Label a new vessel."""
        return self.answer(vessel.create(self.ask(request, word=self._made), **VesselIn.read(request.data)))

    def _made(self, row: Vessel) -> Answer:
        made = self.made("vessels")(row)
        return Answer(201, made.body | {"code": row.code}, made.location)

    def _filtered(self, request: Request) -> QuerySet[Vessel]:
        given = VesselFilter.read_query(request)
        rows, state = self.shown(), given.pop("state", None)
        if process := given.pop("process", None):
            rows = rows.filter(batch__formula_version__rules_data__process=process)
        if process or "batch" in given:
            rows = rows.filter(contents__gt=0)
        if material := given.pop("film_or_paper", None):
            rows = rows.filter(film_or_paper=material)
        rows = rows.filter(**{f"{name}__public_id": value for name, value in given.items()})
        return self._in_state(rows, state) if state else rows

    def _in_state(self, rows: QuerySet[Vessel], state: str) -> QuerySet[Vessel]:
        """Keep those in a state as of now: a date may have passed since anybody wrote it down."""
        now, zone = clock.now(), self.darkroom.zone
        return rows.filter(pk__in=[row.pk for row in rows if standing.assess(row, now, zone).state == state])


class VesselView(InVessels):
    """One vessel."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_READ, "PATCH": Act.VESSEL_CREATE}

    @extend_schema(operation_id="vessels_read", responses=VesselDetailOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a vessel, judged as of now."""
        row = self.find(self.shown(), id)
        # No 304: what a vessel is good for changes with the day, without a new version.
        told = {**self.judged(row), **guarded(row, self.darkroom)}
        return Response(told, headers={"ETag": etag.tag(row.public_id, row.version)})

    @extend_schema(operation_id="vessels_edit", request=VesselEdit, responses=VesselDetailOut)
    def patch(self, request: Request, slug: str, id: UUID) -> Response:
        """Rename a vessel, or move the day its owner takes it away."""
        row = self.find(self.vessels(), id)
        unchanged = partial(etag.check, request, row.public_id)
        vessel.edit(self.ask(request), row, unchanged=unchanged, **VesselEdit.read(request.data))
        return self.get(request, slug, id)


urls = [
    path("vessels", VesselsView.as_view()),
    path("vessels/<uuid:id>", VesselView.as_view()),
]
