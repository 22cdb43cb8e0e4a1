"""Usage: what went through the baths and what it cost, by member, month, vessel or formula."""

from datetime import datetime
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands import scope
from accounts.gate import ActView
from accounts.models import Membership
from chemistry.api.checkin import Span
from chemistry.api.money import MoneyOut, money
from chemistry.commands import usage
from chemistry.science.load import text as load_text
from darkroom_service import quantity
from darkroom_service.api.fields import Id, QuantityField, Text, Whole
from darkroom_service.localday import end_of, start_of
from darkroom_service.quantity import Dimension

AREA = QuantityField(Dimension.AREA)


class UsageQuery(Span):
    """Which usage: whose, when, and added up by what."""

    member = Id(required=False)
    by = serializers.ChoiceField(usage.BY, default=usage.TOTAL)


class UsageOut(serializers.Serializer):
    """One sum. ``key`` is a member's or vessel's id, a month such as 2026-11, a formula's code, or all."""

    key = Text(max_length=60, allow_null=True)
    entries = Whole(low=0, high=10**12, help_text="Check-ins and tallies.")
    load = Text(max_length=20, help_text="Roll units.")
    load_units = Whole(low=0, high=10**15)
    area = QuantityField(Dimension.AREA)
    volume = Volume(help_text="What filled the tanks; trays are not counted again for each sheet.")
    cost = MoneyOut()


class UsageList(serializers.Serializer):
    """All sums asked for."""

    by = serializers.ChoiceField(usage.BY)
    items = UsageOut(many=True)


class UsageView(ActView):
    """Usage."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.USAGE_READ}

    @extend_schema(operation_id="usage_read", parameters=[UsageQuery], responses=UsageList)
    def get(self, request: Request, slug: str) -> Response:
        """Add up rolls, area, volume and cost: one's own; all for technicians and instructors; totals for admins."""
        given = UsageQuery.read(request.query_params.dict())
        by, room = given["by"], self.darkroom
        whose = usage.whose(self.member, self._member(given.get("member")), by)
        since, until = given.get("since"), given.get("to")
        span = usage.Span(since and start_of(since, room.zone), until and end_of(until, room.zone))
        rows = usage.summed(room, by=by, member=whose, span=span)
        return Response({"by": by, "items": [self._shown(row) for row in rows]})

    def _member(self, wanted: UUID | None) -> Membership | None:
        if wanted is None:
            return None
        if wanted == self.member.public_id:
            return self.member
        rows = Membership.objects.filter(darkroom=self.darkroom)
        return scope.named(rows, wanted, pointer="/member", noun="member")

    def _shown(self, row: dict[str, Any]) -> dict[str, Any]:
        key = row["key"]
        return {
            "key": f"{key:%Y-%m}" if isinstance(key, datetime) else key and str(key),
            "entries": row["entries"],
            "load": load_text(row["load"]),
            "load_units": row["load"],
            "area": AREA.to_representation(quantity.cm2(row["area"])),
            "volume": Volume().to_representation(row["volume"]),
            "cost": money(row["cost"], self.darkroom),
        }


urls = [path("usage", UsageView.as_view())]
