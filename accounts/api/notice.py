"""One's own inbox."""

from typing import ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import notice
from accounts.gate import ActView
from accounts.models import Notice
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, DayField, Flag, Id, InstantField, Text
from darkroom_service.api.schema import PAGE, page_of


class NoticeOut(serializers.Serializer):
    """Something one must be told."""

    id = Id(source="public_id")
    kind = Code(max_length=40)
    text = Text(max_length=1000)
    path = Text(max_length=200, help_text="What it is about, below the darkroom's own address.")
    safety = Flag()
    due_on = DayField()
    posted_at = InstantField()
    read_at = InstantField(allow_null=True)


class NoticesView(ActView):
    """The inbox."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.NOTICE_READ}

    @extend_schema(operation_id="notices_list", parameters=PAGE, responses=page_of(NoticeOut))
    def get(self, request: Request, slug: str) -> Response:
        """List one's own notices, newest first."""
        rows = Notice.objects.filter(to=self.member)
        return paging.page(request, rows, lambda found: NoticeOut(found, many=True).data)


class ReadingView(ActView):
    """That a notice was read."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.NOTICE_READ}
    keyed = False

    @extend_schema(operation_id="notices_read", request=None, responses={204: None})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Mark a notice of one's own as read; again does no harm."""
        notice.read(self.find(Notice.objects.filter(to=self.member), id))
        return Response(status=status.HTTP_204_NO_CONTENT)
