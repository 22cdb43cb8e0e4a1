"""The outlook: what runs out when, what to mix and order, what would be poured away, with the sums behind it."""

from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.gate import ActView
from accounts.models import Darkroom
from chemistry.api.money import MoneyOut, money
from chemistry.api.outlooksums import sums
from chemistry.commands import outlook
from chemistry.commands.outlook import Outlook
from chemistry.science.forecast import Choice
from chemistry.science.outlook import ASSUMED, Asked, RunsOut
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, DayField, DecimalText, Flag, Id, Text, Whole
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.localday import day_of


class WeeksText(DecimalText):
    """A number of weeks in a query, where everything is text."""

    def __init__(self, low: int, high: int, default: int, words: str) -> None:
        super().__init__(low=low, high=high, places=0, default=Decimal(default), help_text=words)


class OutlookQuery(QueryShape):
    """How far back and how far ahead it is looked, in weeks; weeks ahead are open ones."""

    weeks = WeeksText(2, 52, outlook.SEEN_WEEKS, "How many weeks back use is averaged.")
    term = WeeksText(1, 52, Asked.term_weeks, "For how many open weeks is ordered.")
    delivery = WeeksText(0, 26, Asked.delivery_weeks, "How long an order takes to come.")
    mixing = WeeksText(0, 8, Asked.mixing_weeks, "How long a packet takes from asking to release.")


class WeekOut(serializers.Serializer):
    """Seven days and what was used in them."""

    first_day = DayField()
    used = Volume()
    counted = Flag()
    why = Text(max_length=120, help_text="Why it is left out; empty where it counts.")


class DemandOut(serializers.Serializer):
    """Use in a week; null where fewer than two weeks count."""

    mean = Volume()
    spread = Volume(help_text="The standard deviation from week to week.")
    weeks_counted = Whole(low=2, high=52)


class RunsOutOut(serializers.Serializer):
    """The first day that ends with nothing usable; null: not within two years."""

    stock = Volume()
    early = DayField(allow_null=True)
    middle = DayField(allow_null=True)
    late = DayField(allow_null=True)


class ChoiceOut(serializers.Serializer):
    """One packet of a size: what is expected to be used of it in its life, and to be poured away."""

    makes = Volume()
    used = Volume()
    poured_away = Volume()
    price = MoneyOut(allow_null=True)
    per_litre_used = MoneyOut(allow_null=True)


class MixOut(serializers.Serializer):
    """The next packet to mix or open, and the sizes to choose from, the best first."""

    at = Volume(help_text="Act when no more than this is left.")
    by = DayField(allow_null=True)
    life_weeks = DecimalText(allow_null=True, help_text="Open weeks it is trusted part-full.")
    sizes = ChoiceOut(many=True)


class OrderOut(serializers.Serializer):
    """What to order for a term, whole packs of the best size."""

    at = Volume(help_text="Order when no more than this is left, packs counted.")
    by = DayField(allow_null=True)
    need = Volume()
    usable = Volume()
    amount = Volume()
    makes = Volume(allow_null=True)
    packs = Whole(low=0, high=10**9)
    cost = MoneyOut(allow_null=True)


class PouredAwayOut(serializers.Serializer):
    """What is expected to die unused."""

    standing = Volume(help_text="Of what is mixed or sealed now.")
    next_packet = Volume(allow_null=True, help_text="Of the next packet of the best size.")


class SupplyOut(serializers.Serializer):
    """What there is, as stock."""

    released = Volume()
    to_test = Volume(help_text="Needs a test first; not counted.")
    waiting = Volume(help_text="Mixed, not released yet.")
    sealed = Volume(help_text="What the sealed packs make.")
    packs = Whole(low=0, high=10**9)
    coming = Flag(help_text="A batch is asked for or being mixed.")


class OutlookOut(serializers.Serializer):
    """One formula. ``missing`` says what is not known; then what follows from it is null."""

    formula = Id()
    code = Code()
    name = Text(max_length=120)
    weeks = WeekOut(many=True)
    demand = DemandOut(allow_null=True)
    supply = SupplyOut()
    released_runs_out = RunsOutOut(allow_null=True)
    all_runs_out = RunsOutOut(allow_null=True, help_text="With what waits for release and the sealed packs.")
    mix_next = MixOut(allow_null=True)
    order = OrderOut(allow_null=True)
    poured_away = PouredAwayOut(allow_null=True)
    sums = serializers.ListField(child=Text(max_length=600), help_text="The plain sum behind each figure.")
    missing = serializers.ListField(child=Text(max_length=300))
    assumptions = serializers.ListField(child=Text(max_length=300))


class OutlookView(ActView):
    """The outlook."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.OUTLOOK_READ}

    @extend_schema(operation_id="outlook_read", parameters=[OutlookQuery, *PAGE], responses=page_of(OutlookOut))
    def get(self, request: Request, slug: str) -> Response:
        """Look ahead, formula by formula: computed from what was used, never a promise."""
        given = OutlookQuery.read_query(request)
        weeks, term, delivery, mixing = (int(given[name]) for name in ("weeks", "term", "delivery", "mixing"))
        at, room = clock.now(), self.darkroom
        asked = Asked(day_of(at, room.zone), (), term, delivery, mixing)
        return paging.page(
            request,
            outlook.formulas(room),
            lambda rows: [shown(each, room) for each in outlook.looked_ahead(room, rows, at, asked, weeks)],
        )


def shown(found: Outlook, room: Darkroom) -> dict[str, Any]:
    """Return an outlook as an answer shows it."""
    seen, supply = found.demand, found.supply
    facts = {
        "formula": found.formula.public_id,
        "code": found.formula.code,
        "name": found.formula.name,
        "weeks": [{**vars(each), "used": tenths(each.used_ml), "counted": not each.why} for each in found.weeks],
        "demand": seen
        and {"mean": tenths(seen.mean_ml), "spread": tenths(seen.spread_ml), "weeks_counted": seen.weeks},
        "supply": {
            "released": tenths(sum(each.ml for each in supply.released)),
            "to_test": tenths(supply.to_test_ml),
            "waiting": tenths(supply.waiting_ml),
            "sealed": tenths(sum(each.ml for each in supply.sealed)),
            "packs": found.packs,
            "coming": supply.coming,
        },
        **_ahead(found, room),
        **sums(found, room),
        "assumptions": ASSUMED,
    }
    return dict(OutlookOut(facts).data)


def _ahead(found: Outlook, room: Darkroom) -> dict[str, Any]:
    ahead = found.ahead
    if ahead is None:
        return dict.fromkeys(("released_runs_out", "all_runs_out", "mix_next", "order", "poured_away"))
    mix, order, size = ahead.mix, ahead.order, ahead.order.size
    following = ahead.lost_of_next_ml
    cost = size.minor * order.packs if size and size.minor is not None else None
    return {
        "released_runs_out": _runs_out(ahead.released),
        "all_runs_out": _runs_out(ahead.with_packs),
        "mix_next": {
            "at": tenths(mix.at_ml),
            "by": mix.by,
            "life_weeks": None if mix.life_weeks is None else Decimal(f"{mix.life_weeks:.1f}"),
            "sizes": [_choice(each, room) for each in mix.choices],
        },
        "order": {
            **{name: tenths(getattr(order, f"{name}_ml")) for name in ("at", "need", "usable", "amount")},
            "by": order.by,
            "makes": size and tenths(size.makes_ml),
            "packs": order.packs,
            "cost": cost if cost is None else money(round(cost), room),
        },
        "poured_away": {
            "standing": tenths(ahead.lost_ml),
            "next_packet": None if following is None else tenths(following),
        },
    }


def _runs_out(found: RunsOut) -> dict[str, int | date | None]:
    return {"stock": tenths(found.stock_ml), "early": found.early, "middle": found.middle, "late": found.late}


def _choice(each: Choice, room: Darkroom) -> dict[str, Any]:
    price, used = each.size.minor, each.minor_per_litre
    return {
        "makes": tenths(each.size.makes_ml),
        "used": tenths(each.used_ml),
        "poured_away": tenths(each.lost_ml),
        "price": None if price is None else money(round(price), room),
        "per_litre_used": None if used is None else money(round(used), room),
    }


def tenths(ml: float) -> int:
    """Return an estimate in mL as volumes are counted, 0.1 mL."""
    return round(ml * 10)


urls = [path("outlook", OutlookView.as_view())]
