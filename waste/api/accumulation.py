"""Where this darkroom stands: kilograms this month, what is on site, since when, and what is due next."""

from dataclasses import asdict
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView
from darkroom_service import clock
from darkroom_service.api.fields import DayField, DecimalText, Flag, Shape, Text, Whole
from waste.api.stream import StreamBrief
from waste.commands import accumulation
from waste.science import standing as rules
from waste.science.retention import RULES, return_due

FIGURE = 10**12
COMPUTED = "computed, not weighed"


class AccumulationQuery(Shape):
    """What the rules of the United States ask besides."""

    far = serializers.ChoiceField(
        ["yes", "no"], default="no", help_text="yes: the site that takes the waste is 200 miles away or more."
    )


class BoundaryOut(serializers.Serializer):
    """One line that changes the rules."""

    name = Text(max_length=60)
    counts = Text(max_length=20, help_text="month, on site or year.")
    at_kg = DecimalText(high=FIGURE)
    beyond = Text(max_length=120)
    source = Text(max_length=300)  # type: ignore[assignment]


class DeadlineOut(serializers.Serializer):
    """Something due by a day, that day included."""

    what = Text(max_length=120)
    by = DayField()
    source = Text(max_length=300)  # type: ignore[assignment]


class RetentionOut(serializers.Serializer):
    """How long one class of record is kept."""

    record = Text(max_length=80)
    months = Whole(low=0, high=1200)
    counted_from = Text(max_length=80)
    source = Text(max_length=300)  # type: ignore[assignment]
    status = Text(max_length=40)


class AccumulationOut(serializers.Serializer):
    """The standing by the darkroom's country rules, with the assumption behind the kilograms."""

    country_rules = Text(max_length=4)
    as_of = DayField()
    category = Text(max_length=60)
    why = Text(max_length=300)
    month_kg = DecimalText(high=FIGURE)
    onsite_kg = DecimalText(high=FIGURE)
    began = DayField(allow_null=True, help_text="The day the oldest waste still here went in: day 0.")
    days = Whole(low=0, high=10**6, allow_null=True)
    next_deadline = DeadlineOut(allow_null=True)
    deadlines = DeadlineOut(many=True)
    over = serializers.ListField(child=Text(max_length=200), help_text="What is passed already.")
    boundaries = BoundaryOut(many=True)
    inspection_due = DayField(allow_null=True)
    inspection_source = Text(max_length=200)
    inspection_late = Flag()
    consignee_return_due = DayField(allow_null=True, help_text="For waste removed today; in the UK only.")
    retention = RetentionOut(many=True)
    counted = StreamBrief(many=True)
    assumption = Text(max_length=400)
    basis = Text(max_length=40)
    caution = Text(max_length=300)
    prevails = Text(max_length=300)


class AccumulationView(ActView):
    """The standing of a darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.ACCUMULATION_READ}

    @extend_schema(operation_id="accumulation_read", parameters=[AccumulationQuery], responses=AccumulationOut)
    def get(self, request: Request, slug: str) -> Response:
        """Reckon the standing by containers and pours; computed from volumes, not weighed."""
        given = AccumulationQuery.read(request.query_params.dict())
        streams = accumulation.counted(self.darkroom)
        known = accumulation.facts(self.darkroom, clock.now(), streams, far=given["far"] == "yes")
        return Response(AccumulationOut({**_shown(known), "counted": streams}).data)


def _shown(known: rules.Facts) -> dict[str, Any]:
    found = rules.standing(known)
    due = found.inspection_due
    kept = [asdict(each) for each in RULES if each.country in (known.country, _lender(known.country))]
    return {
        **vars(found),
        "country_rules": known.country,
        "as_of": known.today,
        "began": known.began,
        "next_deadline": found.next_deadline,
        "inspection_late": due is not None and known.today > due,
        "consignee_return_due": return_due(known.today) if known.country == "UK" else None,
        "retention": kept,
        "assumption": rules.DENSITY_WORDS,
        "basis": COMPUTED,
        "caution": rules.CAUTION,
        "prevails": rules.DEFER,
    }


def _lender(country: str) -> str:
    """Return whose rules are shown where none are set."""
    return "EU" if country not in rules.BOUNDARIES else country
