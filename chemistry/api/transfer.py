"""Transfers: liquid moved, listed, asked about before it is moved, taken back."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import Q, QuerySet
from django.urls import path
from drf_spectacular.utils import PolymorphicProxySerializer, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer, Ask
from accounts.gate import ActView, Made
from accounts.models import Darkroom
from chemistry.api.batchwords import FlagOut
from chemistry.api.hazardwords import CautionOut, HazardBriefOut
from chemistry.api.ofvessel import ReversalIn
from chemistry.api.transferin import SHAPES, read
from chemistry.commands import hazards, transfer
from chemistry.commands.flagtext import worded
from chemistry.commands.transfer import Check
from chemistry.models import Transfer, TransferKind
from darkroom_service.api import paging
from darkroom_service.api.fields import Flag, Id, InstantField, Text
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of

BODIES = PolymorphicProxySerializer(
    component_name="TransferBody",
    serializers={kind.value: shape for kind, shape in SHAPES.items()},
    resource_type_field_name="kind",
)


class TransferMade(Made):
    """What was moved, and the rules it broke."""

    source = Id(allow_null=True)  # type: ignore[assignment]
    target = Id(allow_null=True)
    volume = Volume()
    flags = FlagOut(many=True)


class VerdictOut(serializers.Serializer):
    """One rule that speaks against it, and what would be allowed."""

    code = Text(max_length=60)
    reason = Text(max_length=500)
    offers = serializers.ListField(child=Text(max_length=200))


class CheckOut(serializers.Serializer):
    """What the rules would say; nothing was written."""

    allowed = Flag()
    verdicts = VerdictOut(many=True)
    hazards = HazardBriefOut(many=True, help_text="Of what would be poured, and of what it would become.")
    cautions = CautionOut(many=True)


class TransferOut(serializers.Serializer):
    """A transfer as it was written."""

    id = Id(source="public_id")
    kind = serializers.ChoiceField(TransferKind.choices)
    source = Id(source="source.public_id", allow_null=True)  # type: ignore[assignment]
    target = Id(source="target.public_id", allow_null=True)
    volume = Volume()
    flags = serializers.SerializerMethodField()
    by = Id(source="by.public_id")
    occurred_at = InstantField()
    recorded_at = InstantField(source="entry.recorded_at")
    taken_back = serializers.SerializerMethodField()

    @extend_schema_field(FlagOut(many=True))
    def get_flags(self, row: Transfer) -> list[dict[str, str]]:
        """Return the rules it broke, in words."""
        return worded(row.flags)

    def get_taken_back(self, row: Transfer) -> bool:
        """Tell whether it was taken back."""
        return hasattr(row.entry, "reversal")


class TransferFilter(QueryShape):
    """Which transfers to list."""

    vessel = Id(required=False, help_text="From it or into it.")
    kind = serializers.ChoiceField(TransferKind.choices, required=False)


class InTransfers(ActView):
    """What every view of transfers looks among."""

    def transfers(self) -> QuerySet[Transfer]:
        """Return the transfers of this darkroom with all that is shown of them."""
        rows = Transfer.objects.filter(darkroom=self.darkroom)
        return rows.select_related("source", "target", "by", "entry__reversal")


class TransfersView(InTransfers):
    """All transfers."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TRANSFER_READ, "POST": Act.TRANSFER_CREATE}

    @extend_schema(operation_id="transfers_list", parameters=[TransferFilter, *PAGE], responses=page_of(TransferOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the transfers, the latest entry first."""
        given = TransferFilter.read_query(request)
        rows = self.transfers()
        if vessel := given.pop("vessel", None):
            rows = rows.filter(Q(source__public_id=vessel) | Q(target__public_id=vessel))
        return paging.page(request, rows.filter(**given), lambda found: TransferOut(found, many=True).data)

    @extend_schema(operation_id="transfers_create", request=BODIES, responses={200: CheckOut, 201: TransferMade})
    def post(self, request: Request, slug: str) -> Response:
        """Write down liquid that was moved; with ``check`` true, only say what the rules would say of it."""
        given = read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        if given.pop("check"):
            return Response(_verdicts(transfer.check(self._asking(request), **given), self.darkroom))
        return self.answer(transfer.create(self.ask(request, word=self._worded, **claims), **given))

    def _asking(self, request: Request) -> Ask:
        return Ask(self.darkroom.pk, int(request.user.pk or 0), UUID(int=0), "")

    def _worded(self, row: Transfer) -> Answer:
        made = self.made("transfers")(row)
        ends = {"source": row.source, "target": row.target}
        told: dict[str, Any] = {name: str(each.public_id) if each else None for name, each in ends.items()}
        told |= {"volume": Volume().to_representation(row.volume), "flags": worded(row.flags)}
        return Answer(201, made.body | told, made.location)


class TransferView(InTransfers):
    """One transfer."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TRANSFER_READ}

    @extend_schema(operation_id="transfers_read", responses=TransferOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a transfer."""
        return Response(TransferOut(self.find(self.transfers(), id)).data)


class ReversalView(InTransfers):
    """The taking back of a transfer."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.TRANSFER_REVERSE}

    @extend_schema(operation_id="transfers_reverse", request=ReversalIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Take a transfer back with a reason: one's own at any time, others' as technician or instructor."""
        row, given = self.find(self.transfers(), id), ReversalIn.read(request.data)
        return self.answer(transfer.reverse(self.ask(request), row, **given))


def _verdicts(found: Check, room: Darkroom) -> dict[str, Any]:
    judged = [{"code": each.code, "reason": each.reason, "offers": list(each.offers)} for each in found.verdicts]
    known = {each["code"] for each in judged}
    more = [each for each in worded(found.flags) if each["code"] not in known]
    judged += [{"code": each["code"], "reason": each["text"], "offers": []} for each in more]
    told = {"allowed": not judged, "verdicts": judged}
    told["hazards"] = hazards.liquids(found.liquids, hazards.substances_of(room))
    told["cautions"] = hazards.floor(version for version, _ in found.liquids)
    return dict(CheckOut(told).data)


urls = [
    path("transfers", TransfersView.as_view()),
    path("transfers/<uuid:id>", TransferView.as_view()),
    path("transfers/<uuid:id>/reversal", ReversalView.as_view()),
]
