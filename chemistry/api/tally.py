"""Tallies: sheets put through the trays of a session, written down whatever the rules say of it."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act, Role
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from chemistry.api.batchwords import FlagOut
from chemistry.api.checkinwords import TakenBack, TakenBackOut
from chemistry.api.money import MoneyOut
from chemistry.api.ofvessel import Claims, ReversalIn
from chemistry.api.traysessionout import TrayOut, figures, trays_out
from chemistry.commands import tally as tallies
from chemistry.commands.flagtext import worded
from chemistry.models import Reversal, Tally, TraySession
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import Id, InstantField, QuantityField, Text, Whole
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.quantity import Dimension


class TallyIn(Claims):
    """Sheets of one size that went through all the trays."""

    format = Text(max_length=40, help_text="Such as paper-8x10, or a size such as paper-200x250mm.")
    count = Whole(low=1, high=10_000)


class TallyFigures(serializers.Serializer):
    """What the sheets took out of every tray, and cost."""

    load = Text(max_length=20, help_text="Roll units.")
    load_units = Whole(low=1, high=10**15, help_text="The same in 1/3600 roll unit, exact.")
    area = QuantityField(Dimension.AREA, help_text="Coated area.")
    cost = MoneyOut()
    flags = FlagOut(many=True)


class TallyMade(Made, TallyFigures):
    """A tally just written, and what is left in the trays."""

    trays = TrayOut(many=True)


class TallyOut(TallyFigures):
    """A tally as it was written."""

    id = Id()
    member = Id(help_text="Whose sheets they were.")
    by = Id(help_text="Who wrote them down.")
    format = Text(max_length=40)
    count = Whole(low=1, high=10_000)
    occurred_at = InstantField()
    recorded_at = InstantField()
    reversal = TakenBack(allow_null=True)


class InTallies(ActView):
    """What every view of tallies looks among."""

    def session(self, id: UUID) -> TraySession:
        """Return a session of this darkroom, or 404."""
        return self.find(TraySession.objects.filter(darkroom=self.darkroom), id)

    def tallies(self, session: UUID) -> QuerySet[Tally]:
        """Return the tallies of a session: all for technicians and instructors, one's own for others."""
        rows = Tally.objects.filter(session=self.session(session))
        seen = rows if self.member.holds(Role.TECHNICIAN, Role.INSTRUCTOR) else rows.filter(member=self.member)
        return seen.select_related("member", "entry__by", "entry__reversal")

    def shown(self, row: Tally) -> dict[str, Any]:
        """Return a stored tally, with its reversal if there is one."""
        undone = getattr(row.entry, "reversal", None)
        return {
            "id": str(row.public_id),
            "member": str(row.member.public_id),
            "by": str(row.entry.by.public_id),
            "format": row.format,
            "count": row.count,
            **figures(row.load, row.area, row.cost_minor, self.darkroom),
            "flags": worded(row.flags),
            "occurred_at": InstantField().to_representation(row.occurred_at),
            "recorded_at": InstantField().to_representation(row.entry.recorded_at),
            "reversal": undone
            and TakenBack({"id": undone.public_id, "reason": undone.reason, "at": undone.occurred_at}).data,
        }


class TalliesView(InTallies):
    """The tallies of a session."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TRAY_SESSION_READ, "POST": Act.TRAY_SESSION_TALLY}

    @extend_schema(operation_id="tallies_list", parameters=PAGE, responses=page_of(TallyOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List the tallies of a session, the latest entry first."""
        rows = self.tallies(id)
        return paging.page(request, rows, lambda found: [self.shown(row) for row in found])

    @extend_schema(operation_id="tallies_create", request=TallyIn, responses={201: TallyMade})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down sheets of one size; they charge every tray, and the rules they broke are said."""
        row = self.session(id)
        given = TallyIn.read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        return self.answer(tallies.create(self.ask(request, word=self._worded, **claims), row, **given))

    def _worded(self, row: Tally) -> Answer:
        made = self.made(f"tray-sessions/{row.session.public_id}/tallies")(row)
        told = {"flags": worded(row.flags), "trays": trays_out(row.session, clock.now())}
        return Answer(
            made.status, made.body | figures(row.load, row.area, row.cost_minor, self.darkroom) | told, made.location
        )


class TallyView(InTallies):
    """One tally."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TRAY_SESSION_READ}

    @extend_schema(operation_id="tallies_read", responses=TallyOut)
    def get(self, request: Request, slug: str, id: UUID, tally: UUID) -> Response:
        """Read a tally."""
        return Response(self.shown(self.find(self.tallies(id), tally)))


class ReversalView(InTallies):
    """The taking back of a tally."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.TRAY_SESSION_TALLY}

    @extend_schema(operation_id="tallies_reverse", request=ReversalIn, responses={201: TakenBackOut})
    def post(self, request: Request, slug: str, id: UUID, tally: UUID) -> Response:
        """Take a tally back with a reason: one's own at any time, others' as technician or instructor."""
        row, given = self.find(self.tallies(id), tally), ReversalIn.read(request.data)
        return self.answer(tallies.reverse(self.ask(request, word=_taken_back), row, **given))


def _taken_back(done: tuple[Reversal, list[str]]) -> Answer:
    made, flags = done
    return Answer(201, {"id": str(made.public_id), "flags": worded(flags)})


urls = [
    path("tray-sessions/<uuid:id>/tallies", TalliesView.as_view()),
    path("tray-sessions/<uuid:id>/tallies/<uuid:tally>", TallyView.as_view()),
    path("tray-sessions/<uuid:id>/tallies/<uuid:tally>/reversal", ReversalView.as_view()),
]
