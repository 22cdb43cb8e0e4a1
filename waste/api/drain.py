"""The drain: its rule, version by version, and what went down."""

from typing import Any, ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import SignedVolume, Volume
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, DayField, DecimalText, Flag, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.schema import PAGE, page_of
from waste.api.drainwords import ComputedOut, FigureIn, Ph
from waste.api.fill import ListedOut, ReversalIn
from waste.commands import drain, drainrule
from waste.models import DrainRelease, DrainRule


class LimitIn(Shape):
    """The most of one substance at the point of discharge."""

    cas = Text(max_length=12, help_text="Its CAS number; silver is 7440-22-4.")
    name = Text(max_length=120)
    mg_per_l = DecimalText(low="0.000001", high=10**6)


class RuleIn(Shape):
    """A new version of the rule: who allowed it and by what, and its bounds, all inclusive."""

    approved_by = Text(max_length=200, help_text="The office or company that runs the sewer, no person's name.")
    reference = Text(max_length=200, help_text="The letter, consent or bylaw.")
    streams = serializers.ListField(child=Code(max_length=40), max_length=50, help_text="Codes; none allows nothing.")
    daily_volume = Volume(positive=True)
    ph_low = Ph()
    ph_high = Ph()
    dilution = Whole(low=1, high=10**6, default=1, help_text="How many times the volume it must make with its water.")
    limits = LimitIn(many=True, required=False)
    note = Text(max_length=500, required=False, allow_blank=True)
    valid_from = DayField(required=False, help_text="Today when left out.")
    valid_until = DayField(required=False, allow_null=True)


class LimitOut(serializers.Serializer):
    """A limit."""

    cas = Text(max_length=12)
    name = Text(max_length=120)
    mg_per_l = DecimalText()


class RuleOut(serializers.Serializer):
    """A version of the rule."""

    id = Id(source="public_id")
    number = serializers.IntegerField()
    approved_by = Text(max_length=200)
    reference = Text(max_length=200)
    streams = serializers.ListField(child=Code(max_length=40))
    daily_volume = Volume()
    ph_low = DecimalText()
    ph_high = DecimalText()
    dilution = serializers.IntegerField()
    limits = LimitOut(many=True)
    note = Text(max_length=500)
    valid_from = DayField()
    valid_until = DayField(allow_null=True)
    by = Id(source="by.public_id")
    recorded_at = InstantField(source="entry.recorded_at")


class ReleaseIn(Shape):
    """So much down the drain, of something that stands in no vessel here."""

    stream = Id()
    volume = Volume(positive=True)
    water = Volume(required=False, help_text="The water that goes along with it.")
    ph = Ph(required=False, help_text="Measured, of what goes down.")
    figures = FigureIn(many=True, required=False)
    description = Text(max_length=500, help_text="What it is. Leave people's names out.")
    happened = Flag(default=True, help_text="True reports it, which is always written; false asks first.")
    occurred_at = InstantField(required=False)
    on_behalf_of = Id(required=False)


class ReleaseOut(serializers.Serializer):
    """A release, or one taken back: then its volume is below zero. ``computed`` is calculated, not measured."""

    id = Id(source="public_id")
    rule = Id(source="rule.public_id", allow_null=True)
    stream = Id(source="stream.public_id", allow_null=True)
    volume = SignedVolume(read_only=True)
    water = SignedVolume(read_only=True)
    ph = DecimalText(allow_null=True)
    origin = serializers.DictField()
    listed = ListedOut()
    computed = ComputedOut()
    flags = serializers.ListField(child=Text(max_length=60))
    day = DayField()
    reverses = Id(source="reverses.public_id", allow_null=True)
    reversed_by = Id(source="reversed_by.public_id", allow_null=True)
    by = Id(source="entry.by.public_id")
    on_behalf_of = Id(source="entry.on_behalf_of.public_id", allow_null=True)
    occurred_at = InstantField()
    recorded_at = InstantField(source="entry.recorded_at")


class Released(Made):
    """What a release did: the rules it broke, and the figures."""

    flags = serializers.ListField(child=Text(max_length=60))
    computed = ComputedOut()


class RulesView(ActView):
    """All versions of the drain rule."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DRAIN_READ, "POST": Act.DRAIN_RULE_EDIT}

    @extend_schema(operation_id="drain_rules_list", parameters=PAGE, responses=page_of(RuleOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the versions, the last written first."""
        rows = DrainRule.objects.of(self.darkroom)
        return paging.page(request, rows, lambda found: RuleOut(found, many=True).data)

    @extend_schema(operation_id="drain_rules_create", request=RuleIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Write a new version; the one before stays on record."""
        given = RuleIn.read(request.data)
        return self.answer(drainrule.write(self.ask(request, word=self.made("drain-rules")), **given))


class RuleView(ActView):
    """One version of the rule."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DRAIN_READ}

    @extend_schema(operation_id="drain_rules_read", responses=RuleOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a version."""
        return Response(RuleOut(self.find(DrainRule.objects.of(self.darkroom), id)).data)


class ReleasesView(ActView):
    """All releases."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FILL_READ, "POST": Act.DRAIN_RELEASE}

    @extend_schema(operation_id="drain_releases_list", parameters=PAGE, responses=page_of(ReleaseOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the releases, the latest entry first."""
        rows = DrainRelease.objects.of(self.darkroom)
        return paging.page(request, rows, lambda found: ReleaseOut(found, many=True).data)

    @extend_schema(operation_id="drain_releases_create", request=ReleaseIn, responses={201: Released})
    def post(self, request: Request, slug: str) -> Response:
        """Let something down the drain under the rule, or write down that it went."""
        given = ReleaseIn.read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        given["text"] = given.pop("description")
        return self.answer(drain.release(self.ask(request, word=self._released, **claims), **given))

    def _released(self, row: DrainRelease) -> Answer:
        made = self.made("drain-releases")(row)
        body: dict[str, Any] = {"flags": row.flags, "computed": row.computed}
        return Answer(made.status, made.body | body, made.location)


class ReleaseView(ActView):
    """One release."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FILL_READ}

    @extend_schema(operation_id="drain_releases_read", responses=ReleaseOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a release."""
        return Response(ReleaseOut(self.find(DrainRelease.objects.of(self.darkroom), id)).data)


class ReversalView(ActView):
    """The taking back of a release."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.DRAIN_REVERSE}

    @extend_schema(operation_id="drain_releases_reverse", request=ReversalIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Take back a release that was written down by hand."""
        row = self.find(DrainRelease.objects.of(self.darkroom), id)
        given = ReversalIn.read(request.data)
        return self.answer(drain.reverse(self.ask(request, word=self.made("drain-releases")), row, **given))
