"""Tank plans: what a tank needs, asked before anything is poured."""

from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer, changed_by_id
from accounts.gate import ActView, Made
from chemistry.api.planwords import AdviceOut
from chemistry.api.tank import FilmOut, TankIn, conditions, loading
from chemistry.commands import plan
from chemistry.commands.run import USES
from chemistry.models import TankPlan
from chemistry.science.load import text as load_text
from darkroom_service.api import paging
from darkroom_service.api.fields import Flag, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.schema import PAGE, page_of


class PlanIn(TankIn):
    """A tank to plan; no vessel lets the service pick one."""

    line = Id()
    vessel = Id(required=False, help_text="The developer's vessel, if not left to the service.")
    hold = Flag(default=False, help_text="Keep volume and load for the time the darkroom has set.")
    on_behalf_of = Id(required=False)


class PlanOut(AdviceOut):
    """A plan as it was given; it is never rewritten."""

    id = Id()
    line = Id()
    by = Id()
    films = FilmOut(many=True)
    tank = Volume()
    use = serializers.ChoiceField(list(USES))
    dilution = Text(max_length=12)
    load = Text(max_length=20, help_text="Roll units.")
    load_units = Whole(low=1, high=10**15, help_text="The same in 1/3600 roll unit, exact.")
    held_until = InstantField(allow_null=True)
    used_at = InstantField(allow_null=True)
    cancelled_at = InstantField(allow_null=True)
    planned_at = InstantField()


def shown(row: TankPlan) -> dict[str, Any]:
    """Return a plan as an answer shows it."""
    moments = {name: getattr(row, name) for name in ("held_until", "used_at", "cancelled_at")}
    return {
        "id": str(row.public_id),
        "line": str(row.line.public_id),
        "by": str(row.by.public_id),
        "films": row.films,
        "tank": Volume().to_representation(row.tank),
        "use": row.use,
        "dilution": row.dilution,
        "load": load_text(row.load),
        "load_units": row.load,
        **{name: at and InstantField().to_representation(at) for name, at in moments.items()},
        "planned_at": InstantField().to_representation(row.occurred_at),
        **row.advice,
    }


class PlansView(ActView):
    """All plans."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.PLAN_READ, "POST": Act.PLAN_CREATE}

    @extend_schema(operation_id="tank_plans_list", parameters=PAGE, responses=page_of(PlanOut))
    def get(self, request: Request, slug: str) -> Response:
        """List plans, the latest first: one's own, or all for technicians and instructors."""
        rows = TankPlan.objects.visible_to(self.member).select_related("line", "by")
        return paging.page(request, rows, lambda found: [shown(row) for row in found])

    @extend_schema(operation_id="tank_plans_create", request=PlanIn, responses={201: PlanOut})
    def post(self, request: Request, slug: str) -> Response:
        """Plan a tank: which vessel, how much stock and water, how long, what to mind; or what would do instead."""
        given = PlanIn.read(request.data)
        how = conditions(given)
        wanted = plan.Wanted(given["line"], loading(given), given.get("vessel"), how, given["hold"])
        ask = self.ask(request, word=self._worded, on_behalf_of=given.get("on_behalf_of"))
        return self.answer(plan.create(ask, wanted=wanted))

    def _worded(self, row: TankPlan) -> Answer:
        made = self.made("tank-plans")(row)
        return Answer(made.status, shown(row), made.location)


class PlanView(ActView):
    """One plan."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.PLAN_READ}

    @extend_schema(operation_id="tank_plans_read", responses=PlanOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a plan as it was given."""
        rows = TankPlan.objects.visible_to(self.member).select_related("line", "by")
        return Response(shown(self.find(rows, id)))


class CancellationView(ActView):
    """The giving up of a plan."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.PLAN_CREATE}

    @extend_schema(operation_id="tank_plans_cancel", request=Shape, responses={200: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Give a plan up and free what it kept."""
        row = self.find(TankPlan.objects.visible_to(self.member), id)
        Shape.read(request.data)
        return self.answer(plan.cancel(self.ask(request, word=changed_by_id), row))


urls = [
    path("tank-plans", PlansView.as_view()),
    path("tank-plans/<uuid:id>", PlanView.as_view()),
    path("tank-plans/<uuid:id>/cancellation", CancellationView.as_view()),
]
