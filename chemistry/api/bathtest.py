"""Tests of a bath: recorded, listed, read."""

from typing import ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer, by_id
from accounts.gate import ActView, Made
from chemistry.api.batchwords import FlagOut
from chemistry.api.checkinwords import TakenBack
from chemistry.api.ofvessel import Claims, ReversalIn
from chemistry.commands import bathtest, voiding
from chemistry.commands.flagtext import worded
from chemistry.models import BathTest, VesselState
from chemistry.science.formula import Check
from darkroom_service.api import paging
from darkroom_service.api.fields import DecimalText, Flag, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of

CHECKS = [each.value for each in Check]


class FiguresIn(Shape):
    """What was seen: clip test - density or a match by eye; clearing - seconds and film; stop - indicator or pH."""

    density = DecimalText(low=0, high=5, places=2, required=False, help_text="Of a leader strip left in room light.")
    matches = Flag(required=False, help_text="By eye, with the strip made at release.")
    seconds = Whole(low=1, high=3600, required=False, help_text="Until a strip of film was clear.")
    film = Text(max_length=60, required=False, help_text="The film the strip was cut from, in the room's own words.")
    indicator_ok = Flag(required=False, help_text="Whether the indicator still has the colour of a fresh bath.")
    ph = DecimalText(low=0, high=14, places=2, required=False)


class TestIn(Claims):
    """A test of what is in a vessel. ``for_release``: what later tests are compared with."""

    vessel = Id()
    kind = serializers.ChoiceField(CHECKS, required=False, help_text="If the formula does not say it.")
    figures = FiguresIn()
    for_release = Flag(default=False)


class TestFilter(QueryShape):
    """Which tests to list."""

    vessel = Id(required=False)
    batch = Id(required=False)
    kind = serializers.ChoiceField(CHECKS, required=False)


class TestMade(Made):
    """What the test says, and what became of the vessel. ``passed`` is null where no verdict was possible."""

    passed = Flag(allow_null=True)
    why = Text(max_length=500)
    state = serializers.ChoiceField(VesselState.choices)
    flags = FlagOut(many=True)


class TestOut(serializers.Serializer):
    """A test as it was written."""

    id = Id(source="public_id")
    vessel = Id(source="vessel.public_id")
    batch = Id(source="batch.public_id")
    kind = serializers.ChoiceField(CHECKS)
    passed = Flag(allow_null=True)
    for_release = Flag()
    figures = serializers.DictField()
    why = Text(max_length=500)
    by = Id(source="by.public_id")
    occurred_at = InstantField()
    recorded_at = InstantField(source="entry.recorded_at")
    flags = serializers.SerializerMethodField()
    reversal = serializers.SerializerMethodField()

    @extend_schema_field(FlagOut(many=True))
    def get_flags(self, row: BathTest) -> list[dict[str, str]]:
        """Return what stood against it."""
        return worded(row.flags)

    @extend_schema_field(TakenBack(allow_null=True))
    def get_reversal(self, row: BathTest) -> dict[str, object] | None:
        """Return how it was declared void, if it was."""
        undone = getattr(row.entry, "reversal", None)
        return undone and dict(
            TakenBack({"id": undone.public_id, "reason": undone.reason, "at": undone.occurred_at}).data
        )


class InTests(ActView):
    """What every view of tests looks among."""

    def tests(self) -> QuerySet[BathTest]:
        """Return the tests of this darkroom with all that is shown of them."""
        return BathTest.objects.filter(darkroom=self.darkroom).select_related(
            "vessel", "batch", "by", "entry__reversal"
        )


class TestsView(InTests):
    """All tests."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TEST_READ, "POST": Act.TEST_CREATE}

    @extend_schema(operation_id="tests_list", parameters=[TestFilter, *PAGE], responses=page_of(TestOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the tests, the latest entry first."""
        given = TestFilter.read_query(request)
        kind = {"kind": given.pop("kind")} if "kind" in given else {}
        rows = self.tests().filter(**kind, **{f"{name}__public_id": value for name, value in given.items()})
        return paging.page(request, rows, lambda found: TestOut(found, many=True).data)

    @extend_schema(operation_id="tests_create", request=TestIn, responses={201: TestMade})
    def post(self, request: Request, slug: str) -> Response:
        """Record a test: a pass gives a new date, a fail stops the vessel at once, no verdict changes nothing."""
        given = TestIn.read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        figures = given.pop("figures")
        return self.answer(bathtest.record(self.ask(request, word=self._worded, **claims), **given, **figures))

    def _worded(self, row: BathTest) -> Answer:
        made = self.made("tests")(row)
        told = {"passed": row.passed, "why": row.why, "state": row.vessel.state, "flags": worded(row.flags)}
        return Answer(201, made.body | told, made.location)


class TestView(InTests):
    """One test."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TEST_READ}

    @extend_schema(operation_id="tests_read", responses=TestOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a test."""
        return Response(TestOut(self.find(self.tests(), id)).data)


class ReversalView(InTests):
    """The word that a test counts for nothing."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.TEST_VOID}

    @extend_schema(operation_id="tests_void", request=ReversalIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Declare somebody else's test void: it stays on record, and the stop and the date it made are undone."""
        row, given = self.find(self.tests(), id), ReversalIn.read(request.data)
        return self.answer(voiding.void(self.ask(request, word=by_id), row, **given))


urls = [
    path("tests", TestsView.as_view()),
    path("tests/<uuid:id>", TestView.as_view()),
    path("tests/<uuid:id>/reversal", ReversalView.as_view()),
]
