"""Packs: received, listed, discarded."""

from datetime import date
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
from chemistry.api.money import MoneyIn, MoneyOut, minor_of, money
from chemistry.commands import pack
from chemistry.models import FormulaVersion, Pack, PackState
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, DayField, Flag, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.localday import day_of


class PackIn(Shape):
    """Packs of one kind as they came."""

    formula = Id()
    count = Whole(low=1, high=100, default=1, help_text="How many alike; each becomes a row of its own.")
    makes = Volume(positive=True, help_text="The stock one packet makes, or the concentrate one bottle holds.")
    price = MoneyIn(help_text="Of one.")
    lot = Text(max_length=60, allow_blank=True, default="")
    supplier = Text(max_length=120, allow_blank=True, default="")
    best_before = DayField(required=False)
    sheet_revision = DayField(required=False, help_text="The revision date of its safety data sheet.")
    occurred_at = InstantField(required=False, help_text="When it came, if not now.")


class DiscardIn(Shape):
    """Why a pack was thrown away."""

    reason = Text(max_length=500)
    occurred_at = InstantField(required=False)


class PackFilter(QueryShape):
    """Which packs to list."""

    formula = Id(required=False, help_text="Of this formula only.")
    batch = Id(required=False, help_text="Meant for, or opened for, this batch only.")
    state = serializers.ChoiceField(PackState.choices, required=False)


class FormulaBrief(serializers.Serializer):
    """The formula of a thing, and the version it was made by."""

    id = Id()
    code = Code(max_length=60)
    name = Text(max_length=120)
    number = Whole(low=1, high=32767)


class PackOut(serializers.Serializer):
    """A pack."""

    id = Id()
    code = Text(max_length=12)
    formula = FormulaBrief()
    lot = Text(max_length=60)
    supplier = Text(max_length=120)
    makes = Volume()
    price = MoneyOut()
    received_at = InstantField()
    best_before = DayField(allow_null=True)
    past_date = Flag(help_text="Whether its best-before day is over.")
    sheet_revision = DayField(allow_null=True)
    state = serializers.ChoiceField(PackState.choices)
    batch = Id(allow_null=True, help_text="The batch it is meant for, or was opened for.")
    discard_reason = Text(max_length=500)


class PackMade(Made):
    """One of the packs received."""

    code = Text(max_length=12)


class PacksMade(serializers.Serializer):
    """The packs received, each with the code for its label."""

    items = PackMade(many=True)


class PackChanged(Made):
    """A pack after a change."""

    state = serializers.ChoiceField(PackState.choices)


def formula_brief(version: FormulaVersion) -> dict[str, Any]:
    """Return what is shown of a formula beside a thing made by it."""
    row = version.formula
    return {"id": row.public_id, "code": row.code, "name": row.name, "number": version.number}


def shown(row: Pack, today: date) -> dict[str, Any]:
    """Return a pack as it is on a day."""
    facts = {
        "id": row.public_id,
        "formula": formula_brief(row.formula_version),
        "price": money(row.price_minor, row.darkroom),
        "past_date": row.best_before is not None and row.best_before < today,
        "batch": row.batch and row.batch.public_id,
    }
    plain = ("code", "lot", "supplier", "makes", "received_at", "best_before", "sheet_revision", "state")
    facts |= {name: getattr(row, name) for name in (*plain, "discard_reason")}
    return PackOut(facts).data


def _received(rows: list[Pack]) -> Answer:
    return Answer(201, {"items": [PackMade({"id": row.public_id, "code": row.code}).data for row in rows]})


def _discarded(row: Pack) -> Answer:
    return Answer(200, {"id": str(row.public_id), "state": row.state})


class InPacks(ActView):
    """What every view of packs looks among."""

    def packs(self) -> QuerySet[Pack]:
        """Return the packs of this darkroom, each with what is shown of it."""
        return Pack.objects.filter(darkroom=self.darkroom).select_related(
            "formula_version__formula", "batch", "darkroom"
        )

    def today(self) -> date:
        """Return the darkroom's calendar day."""
        return day_of(clock.now(), self.darkroom.zone)


class PacksView(InPacks):
    """All packs."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.PACK_READ, "POST": Act.PACK_RECEIVE}

    @extend_schema(operation_id="packs_list", parameters=[PackFilter, *PAGE], responses=page_of(PackOut))
    def get(self, request: Request, slug: str) -> Response:
        """List packs, the latest first."""
        rows, today = _filtered(self.packs(), request), self.today()
        return paging.page(request, rows, lambda found: [shown(row, today) for row in found])

    @extend_schema(operation_id="packs_receive", request=PackIn, responses={201: PacksMade})
    def post(self, request: Request, slug: str) -> Response:
        """Write down packs received."""
        given = PackIn.read(request.data)
        ask = self.ask(request, word=_received, occurred_at=given.pop("occurred_at", None))
        price = minor_of(given.pop("price"), self.darkroom, pointer="/price")
        return self.answer(pack.receive(ask, price_minor=price, pieces=given.pop("count"), **given))


class PackView(InPacks):
    """One pack."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.PACK_READ}

    @extend_schema(operation_id="packs_read", responses=PackOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a pack."""
        return Response(shown(self.find(self.packs(), id), self.today()))


class DiscardView(InPacks):
    """The throwing away of a pack."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.PACK_DISCARD}

    @extend_schema(operation_id="packs_discard", request=DiscardIn, responses={200: PackChanged})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down that a sealed pack was thrown away."""
        row = self.find(self.packs(), id)
        given = DiscardIn.read(request.data)
        ask = self.ask(request, word=_discarded, occurred_at=given.get("occurred_at"))
        return self.answer(pack.discard(ask, row, reason=given["reason"]))


def _filtered(rows: QuerySet[Pack], request: Request) -> QuerySet[Pack]:
    """Narrow down by the address's query; ids that are not there match nothing."""
    given = PackFilter.read_query(request)
    columns = {"formula": "formula_version__formula__public_id", "batch": "batch__public_id", "state": "state"}
    return rows.filter(**{columns[name]: value for name, value in given.items()})


urls = [
    path("packs", PacksView.as_view()),
    path("packs/<uuid:id>", PackView.as_view()),
    path("packs/<uuid:id>/discarding", DiscardView.as_view()),
]
