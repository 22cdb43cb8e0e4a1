"""Topics: list, make, change, retire."""

from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import topic
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from accounts.models import Topic
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import Code, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.schema import PAGE, page_of

MOST_MONTHS = 120


class TopicIn(Shape):
    """A new topic."""

    code = Code(max_length=40)
    name = Text(max_length=120)
    text = Text(max_length=4000, multiline=True, allow_blank=True, default="")
    valid_months = Whole(low=1, high=MOST_MONTHS)


class TopicEdit(Shape):
    """What an instructor may change; what is left out stays."""

    name = Text(max_length=120, required=False)
    text = Text(max_length=4000, multiline=True, allow_blank=True, required=False)
    valid_months = Whole(low=1, high=MOST_MONTHS, required=False)
    grace_days = Whole(
        low=0, high=365, allow_null=True, default=topic.GRACE_DAYS,
        help_text="How long sign-offs given for earlier versions still count; null: until their own date.",
    )  # fmt: skip


class TopicOut(serializers.Serializer):
    """A topic as its current version words it."""

    id = Id(source="public_id")
    code = Code(max_length=40)
    name = Text(max_length=120)
    text = Text(max_length=4000)
    valid_months = Whole(low=1, high=MOST_MONTHS)
    number = Whole(low=1, high=32767)
    retired_at = InstantField(allow_null=True)


def _changed(row: Topic) -> Answer:
    return Answer(200, {"id": str(row.public_id), "number": row.number})


class TopicsView(ActView):
    """All topics."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TOPIC_READ, "POST": Act.TOPIC_EDIT}

    @extend_schema(operation_id="topics_list", parameters=PAGE, responses=page_of(TopicOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the topics."""
        rows = Topic.objects.with_text().filter(darkroom=self.darkroom)
        return paging.page(request, rows, lambda found: TopicOut(found, many=True).data)

    @extend_schema(operation_id="topics_create", request=TopicIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Make a topic."""
        wording = topic.Wording(**TopicIn.read(request.data))
        return self.answer(topic.add(self.ask(request, word=self.made("topics")), wording))


class TopicView(ActView):
    """One topic."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.TOPIC_READ, "PATCH": Act.TOPIC_EDIT}

    @extend_schema(operation_id="topics_read", responses=TopicOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a topic."""
        row = self.find(Topic.objects.with_text().filter(darkroom=self.darkroom), id)
        return etag.answer(request, TopicOut(row).data, row.public_id, row.version)

    @extend_schema(operation_id="topics_edit", request=TopicEdit, responses=TopicOut)
    def patch(self, request: Request, slug: str, id: UUID) -> Response:
        """Write a new version; sign-offs given for earlier ones count for the days of grace."""
        row = self.find(Topic.objects.filter(darkroom=self.darkroom), id)
        changes: dict[str, Any] = TopicEdit.read(request.data)
        unchanged = partial(etag.check, request, row.public_id)
        topic.edit(self.ask(request, word=_changed), row, unchanged=unchanged, **changes)
        return self.get(request, slug, id)


class RetirementView(ActView):
    """The end of a topic."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.TOPIC_EDIT}

    @extend_schema(operation_id="topics_retire", request=Shape, responses={200: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Retire a topic; sign-offs given count until they end."""
        row = self.find(Topic.objects.filter(darkroom=self.darkroom), id)
        Shape.read(request.data)
        return self.answer(topic.retire(self.ask(request, word=_changed), row))
