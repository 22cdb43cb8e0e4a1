"""What left the inbox and what could not: for admins, with the reason and a way to try again."""

from typing import ClassVar
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import delivery
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from accounts.models import Channel, Delivery, DeliveryState
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, Id, InstantField, Text, Whole
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.refusal import Malformed

STATE = OpenApiParameter("state", str, OpenApiParameter.QUERY, enum=DeliveryState.values, description="Only these.")


class DeliveryOut(serializers.Serializer):
    """One notice on its way to one person, or one event on its way to the webhook."""

    id = Id(source="public_id")
    channel = serializers.ChoiceField(Channel.choices)
    state = serializers.ChoiceField(DeliveryState.choices)
    kind = Code(max_length=40, source="notice.kind")
    to = Id(source="notice.to.public_id", help_text="The member it is for; of an event, one of those who were told.")
    tries = Whole(low=0, high=100)
    error = Text(max_length=300, help_text="Why the last try failed.")
    due_at = InstantField(help_text="When it may next be tried.")
    sent_at = InstantField(allow_null=True)


class Resent(Made):
    """A delivery that is tried again."""

    state = serializers.ChoiceField(DeliveryState.choices)


class DeliveriesView(ActView):
    """All deliveries."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DELIVERY_READ}

    @extend_schema(operation_id="deliveries_list", parameters=[STATE, *PAGE], responses=page_of(DeliveryOut))
    def get(self, request: Request, slug: str) -> Response:
        """List what goes out of this darkroom, newest first; ``state=parked`` is what was given up."""
        rows = delivery.visible_to_admins(self.darkroom.pk)
        if (state := request.query_params.get("state")) is not None:
            if state not in DeliveryState.values:
                words = f"A state is one of {', '.join(DeliveryState.values)}."
                raise Malformed("state.unknown", words, pointer="")
            rows = rows.filter(state=state)
        return paging.page(request, rows, lambda found: DeliveryOut(found, many=True).data)


class ResendView(ActView):
    """Trying again."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.DELIVERY_RESEND}

    @extend_schema(operation_id="deliveries_resend", request=None, responses={201: Resent})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Try again what was given up, after mending what its error names."""
        row = self.find(delivery.visible_to_admins(self.darkroom.pk), id)
        return self.answer(delivery.resend(self.ask(request, word=_resent), row))


def _resent(row: Delivery) -> Answer:
    return Answer(201, {"id": str(row.public_id), "state": str(row.state)})
