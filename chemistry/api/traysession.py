"""Tray sessions: trays filled for a group, and emptied again; ``tally`` has the sheets in between."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from chemistry.api.batchwords import FlagOut
from chemistry.api.ofvessel import Claims
from chemistry.api.traysessionout import TrayOut, TraySessionOut, sessions_out, trays_out
from chemistry.commands import traysession
from chemistry.commands.flagtext import worded
from chemistry.commands.tray import Emptying, Filling
from chemistry.models import SessionTray, StepRole, TraySession
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import Id, InstantField, Shape, Text, fault
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of

ROLES = list(StepRole)


class TrayIn(Shape):
    """One tray: what it does, and what it was filled with."""

    role = serializers.ChoiceField(StepRole.choices)
    tray = Id()
    source = Id(help_text="The vessel it was filled from: stock, concentrate or working.")  # type: ignore[assignment]
    dilution = Text(max_length=12, required=False, help_text="Its strength; left out, the source as it is.")
    volume = Volume(positive=True, help_text="What the tray was filled to.")


class TraySessionIn(Claims):
    """Trays as they were filled."""

    group = Text(max_length=120, help_text="Who prints, such as a class; no names of people.")
    line = Id(required=False, help_text="A paper line: its steps name the containers the trays go to in the end.")
    trays = serializers.ListField(child=TrayIn(), min_length=1, max_length=len(ROLES))


class GoalIn(Shape):
    """A vessel or a container."""

    vessel = Id(required=False)
    container = Id(required=False)

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """Let through exactly one of the two."""
        if len(given) != 1:
            raise fault("goal.ambiguous", "a tray goes to one vessel or one container: name one of the two")
        return given


class EmptyingIn(Shape):
    """Where one tray went, if not to its step's container, and how much was measured, if not all by the record."""

    role = serializers.ChoiceField(StepRole.choices)
    to = GoalIn(required=False)
    volume = Volume(required=False)


class ClosingIn(Claims):
    """The trays that did not go whole to the containers of the line."""

    trays = serializers.ListField(child=EmptyingIn(), max_length=len(ROLES), required=False)


class Opened(Made):
    """A session opened: its trays, and the rules that broke."""

    trays = TrayOut(many=True)
    flags = FlagOut(many=True)


class Closed(Made):
    """A session closed, and the rules that broke since it was opened."""

    closed_at = InstantField()
    flags = FlagOut(many=True)


class SessionFilter(QueryShape):
    """Which sessions to list."""

    line = Id(required=False)
    vessel = Id(required=False, help_text="With this vessel as a tray.")


class InSessions(ActView):
    """What every view of tray sessions looks among."""

    def sessions(self) -> QuerySet[TraySession]:
        """Return the sessions of this darkroom, each with all that is shown of it."""
        trays = SessionTray.objects.select_related("vessel__batch__formula_version__formula").order_by("id")
        rows = TraySession.objects.filter(darkroom=self.darkroom).select_related("line", "opened_by")
        return rows.prefetch_related(Prefetch("trays", trays))


class TraySessionsView(InSessions):
    """All tray sessions."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TRAY_SESSION_READ, "POST": Act.TRAY_SESSION_OPEN}

    @extend_schema(
        operation_id="tray_sessions_list", parameters=[SessionFilter, *PAGE], responses=page_of(TraySessionOut)
    )
    def get(self, request: Request, slug: str) -> Response:
        """List tray sessions, the latest first."""
        given = SessionFilter.read_query(request)
        rows = self.sessions()
        if vessel := given.pop("vessel", None):
            rows = rows.filter(trays__vessel__public_id=vessel)
        rows = rows.filter(**{f"{name}__public_id": value for name, value in given.items()})
        return paging.page(request, rows, lambda found: sessions_out(found, self.member, clock.now()))

    @extend_schema(operation_id="tray_sessions_open", request=TraySessionIn, responses={201: Opened})
    def post(self, request: Request, slug: str) -> Response:
        """Write down trays that were filled for a group; which rules that broke is said, nothing is refused for it."""
        given = TraySessionIn.read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        trays = [Filling(**each) for each in given.pop("trays")]
        return self.answer(traysession.open(self.ask(request, word=self._opened, **claims), trays=trays, **given))

    def _opened(self, row: TraySession) -> Answer:
        made = self.made("tray-sessions")(row)
        told = {"trays": trays_out(row, row.opened_at), "flags": worded(row.flags)}
        return Answer(made.status, made.body | told, made.location)


class TraySessionView(InSessions):
    """One tray session."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TRAY_SESSION_READ}

    @extend_schema(operation_id="tray_sessions_read", responses=TraySessionOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a tray session: what is left in its trays, and its tally by size and by person."""
        row = self.find(self.sessions(), id)
        return Response(sessions_out([row], self.member, clock.now())[0])


class ClosingView(InSessions):
    """The end of a tray session."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.TRAY_SESSION_OPEN}

    @extend_schema(operation_id="tray_sessions_close", request=ClosingIn, responses={200: Closed})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down that the trays were emptied: back into used bottles, or away."""
        row = self.find(TraySession.objects.filter(darkroom=self.darkroom), id)
        given = ClosingIn.read(request.data)
        claims = {name: given.get(name) for name in ("occurred_at", "on_behalf_of")}
        trays = [
            Emptying(each["role"], volume=each.get("volume"), **each.get("to", {})) for each in given.get("trays", [])
        ]
        return self.answer(traysession.close(self.ask(request, word=_closed, **claims), row, trays=trays))


def _closed(row: TraySession) -> Answer:
    told = {"flags": worded(row.flags), "closed_at": InstantField().to_representation(row.closed_at)}
    return Answer(200, {"id": str(row.public_id), **told})


urls = [
    path("tray-sessions", TraySessionsView.as_view()),
    path("tray-sessions/<uuid:id>", TraySessionView.as_view()),
    path("tray-sessions/<uuid:id>/closing", ClosingView.as_view()),
]
