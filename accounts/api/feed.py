"""Calendar addresses of one's own: made, listed and ended."""

from typing import Any, ClassVar
from uuid import UUID

from django.conf import settings
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import feed
from accounts.gate import ActView, Made
from accounts.models import Feed
from darkroom_service.api import paging
from darkroom_service.api.fields import Id, InstantField, Text
from darkroom_service.api.schema import PAGE, page_of


class FeedOut(serializers.Serializer):
    """An address of one's own; its secret is never shown again."""

    id = Id(source="public_id")
    made_at = InstantField()
    ended_at = InstantField(allow_null=True)


class FeedMade(Made):
    """An address just made: the only time it is shown."""

    address = Text(max_length=300, help_text="For a calendar program. Whoever has it can read it: keep it to yourself.")


class FeedsView(ActView):
    """One's own addresses."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FEED_READ, "POST": Act.FEED_EDIT}

    @extend_schema(operation_id="feeds_list", parameters=PAGE, responses=page_of(FeedOut))
    def get(self, request: Request, slug: str) -> Response:
        """List one's own calendar addresses."""
        rows = Feed.objects.filter(membership=self.member)
        return paging.page(request, rows, lambda found: FeedOut(found, many=True).data)

    @extend_schema(operation_id="feeds_make", request=None, responses={201: FeedMade})
    def post(self, request: Request, slug: str) -> Response:
        """Make a calendar address; the one before it ends."""
        receipt = feed.make(self.ask(request, word=self.made("feeds")))
        made = Feed.objects.get(membership=self.member, public_id=receipt.answer.body["id"])
        answered: Any = self.answer(receipt)
        answered.data = {**answered.data, "address": f"{settings.ORIGIN}/feeds/{feed.token(made)}.ics"}
        answered.headers["Cache-Control"] = "no-store"
        return answered


class FeedView(ActView):
    """One address."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FEED_READ}

    @extend_schema(operation_id="feeds_read", responses=FeedOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read when an address was made, and whether it was ended."""
        return Response(FeedOut(self.find(Feed.objects.filter(membership=self.member), id)).data)


class RevocationView(ActView):
    """Ending an address."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.FEED_EDIT}

    @extend_schema(operation_id="feeds_end", request=None, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """End a calendar address at once."""
        row = self.find(Feed.objects.filter(membership=self.member), id)
        return self.answer(feed.end(self.ask(request), row))
