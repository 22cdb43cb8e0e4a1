"""Check-ins: film that was processed, written down whatever the rules say of it."""

from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer
from accounts.gate import ActView
from chemistry.api.checkinwords import CheckedInOut, CheckInOut, TakenBackOut, after, read, shown
from chemistry.api.tank import MOST_FILMS, ConditionsIn, FilmIn, conditions, films
from chemistry.commands import checkin
from chemistry.commands.checkin import CheckedIn
from chemistry.commands.flagtext import worded
from chemistry.commands.report import Report
from chemistry.commands.run import USES
from chemistry.models import CheckIn, Reversal
from chemistry.models.checkin import CheckInQuerySet
from darkroom_service.api import paging
from darkroom_service.api.fields import DayField, Id, InstantField, Shape, Text
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.localday import end_of, start_of


class SpentTo(Shape):
    """Where a step's spent liquid went, if not to the container of the line; null where it went into none."""

    developer = Id(required=False, allow_null=True)
    stop = Id(required=False, allow_null=True)
    fixer_1 = Id(required=False, allow_null=True)
    fixer_2 = Id(required=False, allow_null=True)
    washing_aid = Id(required=False, allow_null=True)


class CheckInIn(ConditionsIn):
    """What was done. With a plan, everything left out is as it was planned; without, line to dilution are needed."""

    plan = Id(required=False)
    line = Id(required=False)
    vessel = Id(required=False, help_text="The developer's vessel, if not that of the plan or the line.")
    films = serializers.ListField(child=FilmIn(), min_length=1, max_length=MOST_FILMS, required=False)
    tank = Volume(positive=True, required=False)
    use = serializers.ChoiceField(list(USES), required=False)
    dilution = Text(max_length=12, required=False)
    poured_back = Volume(required=False, help_text="Of the developer, if not all but what clings to the film.")
    poured_back_into = Id(required=False, help_text="The vessel, if not the one the developer came from.")
    containers = SpentTo(required=False)
    occurred_at = InstantField(required=False, help_text="When it was done, if not now.")
    on_behalf_of = Id(required=False, help_text="Whose film it was, written down by a technician or instructor.")


class ReversalIn(Shape):
    """Why an entry is taken back."""

    reason = Text(max_length=500)


class Span(Shape):
    """Local days, both included."""

    to = DayField(required=False)

    def get_fields(self) -> dict[str, Any]:
        """Return the fields with one more, whose name Python keeps for itself."""
        return {"from": DayField(required=False, source="since"), **super().get_fields()}


class CheckInFilter(Span, QueryShape):
    """Which check-ins to list."""

    member = Id(required=False)
    vessel = Id(required=False, help_text="Any vessel of the line that was used.")
    line = Id(required=False)


class InCheckIns(ActView):
    """What every view of check-ins looks among."""

    def check_ins(self) -> CheckInQuerySet:
        """Return one's own check-ins, or all for technicians and instructors, each with all that is shown of it."""
        rows = CheckIn.objects.visible_to(self.member)
        return rows.select_related("member", "line", "plan", "vessel", "entry__by", "entry__reversal")


class CheckInsView(InCheckIns):
    """All check-ins."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.CHECK_IN_READ, "POST": Act.CHECK_IN_CREATE}

    @extend_schema(operation_id="check_ins_list", parameters=[CheckInFilter, *PAGE], responses=page_of(CheckInOut))
    def get(self, request: Request, slug: str) -> Response:
        """List check-ins, the latest entry first."""
        rows = self._filtered(request)
        return paging.page(request, rows, lambda found: [read(row, self.darkroom) for row in found])

    @extend_schema(operation_id="check_ins_create", request=CheckInIn, responses={201: CheckedInOut})
    def post(self, request: Request, slug: str) -> Response:
        """Write down film that was processed; it is never refused for chemistry, and says which rules it broke."""
        given = CheckInIn.read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        report = Report(films=films(given), conditions=conditions(given), **given)
        return self.answer(checkin.create(self.ask(request, word=self._worded, **claims), report=report))

    def _worded(self, done: CheckedIn) -> Answer:
        made = self.made("check-ins")(done.check_in)
        body = shown(done.check_in, self.member.public_id, self.darkroom)
        return Answer(made.status, body | {"vessels": after(done)}, made.location)

    def _filtered(self, request: Request) -> CheckInQuerySet:
        given = CheckInFilter.read_query(request)
        zone, rows = self.darkroom.zone, self.check_ins()
        if "since" in given:
            rows = rows.filter(occurred_at__gte=start_of(given.pop("since"), zone))
        if "to" in given:
            rows = rows.filter(occurred_at__lt=end_of(given.pop("to"), zone))
        if "vessel" in given:
            rows = rows.through(given.pop("vessel"))
        return rows.filter(**{f"{name}__public_id": value for name, value in given.items()})


class CheckInView(InCheckIns):
    """One check-in."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.CHECK_IN_READ}

    @extend_schema(operation_id="check_ins_read", responses=CheckInOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a check-in."""
        return Response(read(self.find(self.check_ins(), id), self.darkroom))


class ReversalView(InCheckIns):
    """The taking back of a check-in."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.CHECK_IN_REVERSE}

    @extend_schema(operation_id="check_ins_reverse", request=ReversalIn, responses={201: TakenBackOut})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Take a check-in back with a reason: one's own at any time, others' as technician or instructor."""
        row = self.find(self.check_ins(), id)
        given = ReversalIn.read(request.data)
        return self.answer(checkin.reverse(self.ask(request, word=_taken_back), row, **given))


def _taken_back(done: tuple[Reversal, list[str]]) -> Answer:
    made, flags = done
    return Answer(201, {"id": str(made.public_id), "flags": worded(flags)})


urls = [
    path("check-ins", CheckInsView.as_view()),
    path("check-ins/<uuid:id>", CheckInView.as_view()),
    path("check-ins/<uuid:id>/reversal", ReversalView.as_view()),
]
