"""Streams: the kinds of waste kept apart here."""

from functools import partial
from typing import ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import Code, Flag, Id, Shape, Text
from darkroom_service.api.schema import PAGE, page_of
from waste.commands import stream
from waste.models import Stream
from waste.science.stream import is_hazardous, starters, title


class StreamEdit(Shape):
    """What may be said of a stream afterwards; what is left out stays."""

    name = Text(max_length=120, required=False)
    list_code = Text(
        max_length=10,
        required=False,
        allow_blank=True,
        help_text="Its List of Waste code, such as 09 01 04*; empty where no list applies.",
    )
    note = Text(max_length=500, multiline=True, required=False, allow_blank=True)


class StreamIn(StreamEdit):
    """A starter stream by its code alone, or one of one's own with at least a code and a name."""

    code = Code(max_length=40, help_text=f"A code of one's own, or one of the starters: {', '.join(starters())}.")
    kind = Code(
        max_length=40,
        required=False,
        help_text="The starter that a stream of one's own is a case of; other where it is like none of them.",
    )


class StreamBrief(serializers.Serializer):
    """A stream as it stands beside its containers."""

    id = Id(source="public_id")
    code = Code(max_length=40)
    name = Text(max_length=120)
    list_code = Text(max_length=10)


class StreamOut(StreamBrief):
    """A stream, with the title of its code (empty for a code that is not kept here) and whether that is hazardous."""

    kind = Code(max_length=40)
    title = serializers.SerializerMethodField()
    hazardous = serializers.SerializerMethodField()
    note = Text(max_length=500)

    @extend_schema_field(Text(max_length=200))
    def get_title(self, row: Stream) -> str:
        """Return the words of the list."""
        return title(row.list_code)

    @extend_schema_field(Flag())
    def get_hazardous(self, row: Stream) -> bool:
        """Return whether the code has its asterisk."""
        return is_hazardous(row.list_code)


def _edited(row: Stream) -> Answer:
    return Answer(200, {"id": str(row.public_id)})


class StreamsView(ActView):
    """All streams of a darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.STREAM_READ, "POST": Act.STREAM_EDIT}

    @extend_schema(operation_id="streams_list", parameters=PAGE, responses=page_of(StreamOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the streams."""
        rows = Stream.objects.filter(darkroom=self.darkroom)
        return paging.page(request, rows, lambda found: StreamOut(found, many=True).data)

    @extend_schema(operation_id="streams_create", request=StreamIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Add a stream."""
        given = StreamIn.read(request.data)
        return self.answer(stream.create(self.ask(request, word=self.made("streams")), **given))


class StreamView(ActView):
    """One stream."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.STREAM_READ, "PATCH": Act.STREAM_EDIT}

    @extend_schema(operation_id="streams_read", responses=StreamOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a stream."""
        row = self.find(Stream.objects.filter(darkroom=self.darkroom), id)
        return etag.answer(request, StreamOut(row).data, row.public_id, row.version)

    @extend_schema(operation_id="streams_edit", request=StreamEdit, responses=StreamOut)
    def patch(self, request: Request, slug: str, id: UUID) -> Response:
        """Change a stream's name, code of the list, or note."""
        row = self.find(Stream.objects.filter(darkroom=self.darkroom), id)
        given = StreamEdit.read(request.data)
        stream.edit(self.ask(request, word=_edited), row, given, unchanged=partial(etag.check, request, row.public_id))
        return self.get(request, slug, id)
