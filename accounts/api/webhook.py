"""The darkroom's webhook, for admins: signed events without names, for a chat or a program of one's own."""

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import webhook
from accounts.commands.entry import Answer, Receipt
from accounts.gate import ActView, Made, unseen
from accounts.models import Webhook
from accounts.sending import address
from darkroom_service.api.fields import Id, InstantField, Shape, Text, Whole, fault


class WebhookIn(Shape):
    """Where events are to be sent."""

    url = Text(max_length=500, help_text="Begins with https:// and leads to a public address.")

    def validate_url(self, url: str) -> str:
        """Refuse what could never be sent to; what the name resolves to is judged at each sending."""
        try:
            address.parse(url)
        except ValueError as why:
            raise fault("webhook.address", str(why)) from None
        return url


class WebhookOut(serializers.Serializer):
    """The webhook; its secret is never shown again."""

    id = Id(source="public_id")
    url = Text(max_length=500)
    generation = Whole(low=1, high=1_000_000, help_text="How many secrets there have been.")
    rotated_at = InstantField(allow_null=True, help_text="When the secret changed; for a day both sign.")


class Keyed(Made):
    """A webhook with a new secret: the only time it is shown."""

    generation = Whole(low=1, high=1_000_000)
    secret = Text(max_length=60)


class WebhookView(ActView):
    """The darkroom's webhook."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.WEBHOOK_READ, "POST": Act.WEBHOOK_EDIT}

    @extend_schema(operation_id="webhook_read", responses=WebhookOut)
    def get(self, request: Request, slug: str) -> Response:
        """Read where events go."""
        hook = Webhook.objects.filter(darkroom=self.darkroom, ended_at=None).first()
        if hook is None:
            raise unseen()
        return Response(WebhookOut(hook).data)

    @extend_schema(operation_id="webhook_set", request=WebhookIn, responses={201: Keyed})
    def post(self, request: Request, slug: str) -> Response:
        """Set or move the webhook; the answer holds its secret."""
        given = WebhookIn.read(request.data)
        return _with_secret(self, webhook.put(self.ask(request, word=_made), url=given["url"]))


class RotationView(ActView):
    """Changing the secret."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.WEBHOOK_EDIT}

    @extend_schema(operation_id="webhook_rotate", request=None, responses={201: Keyed})
    def post(self, request: Request, slug: str) -> Response:
        """Make a new secret; events carry both signatures for 24 hours."""
        return _with_secret(self, webhook.rotate(self.ask(request, word=_made)))


class EndView(ActView):
    """Ending the webhook."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.WEBHOOK_EDIT}

    @extend_schema(operation_id="webhook_end", request=None, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Send nothing any more."""
        return self.answer(webhook.end(self.ask(request, word=_ended)))


def _made(hook: Webhook) -> Answer:
    return Answer(201, {"id": str(hook.public_id), "generation": hook.generation})


def _ended(hook: Webhook) -> Answer:
    return Answer(201, {"id": str(hook.public_id)})


def _with_secret(view: ActView, receipt: Receipt) -> Response:
    """Add the secret to the answer, outside the record; a replay tells its own generation's again."""
    hook = Webhook.objects.get(darkroom=view.darkroom)
    answered: Any = view.answer(receipt)
    answered.data = {**answered.data, "secret": webhook.secret(hook, answered.data["generation"])}
    answered.headers["Cache-Control"] = "no-store"
    return answered
