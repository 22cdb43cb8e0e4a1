"""Streams: the kinds of waste kept apart here."""

from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import changed_by_id
from accounts.gate import ActView, Made
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import Code, Flag, Id, InstantField, Shape, Text
from darkroom_service.api.schema import PAGE, page_of
from waste.commands import stream
from waste.models import Stream, StreamVersion
from waste.science.stream import is_hazardous, listing, starters, title, us_title


class UsCodes(serializers.ListField):
    """Waste codes of the United States, as D011."""

    def __init__(self, **options: Any) -> None:
        super().__init__(child=Text(max_length=4), max_length=10, **options)


class StreamWords(Shape):
    """What a stream is called and coded."""

    name = Text(max_length=120, required=False)
    list_code = Text(
        max_length=10,
        required=False,
        allow_blank=True,
        help_text="Its List of Waste code, such as 09 01 04*; empty where no list applies.",
    )
    us_codes = UsCodes(required=False, help_text="Its waste codes in the United States; empty where they do not apply.")
    note = Text(max_length=500, multiline=True, required=False, allow_blank=True)


class StreamEdit(StreamWords):
    """How a stream reads from a moment on; what is left out stays, and what was poured before keeps its codes."""

    valid_from = InstantField(required=False, help_text="Since when it reads so; now when left out.")


class StreamIn(StreamWords):
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


class UsCodeOut(serializers.Serializer):
    """A waste code of the United States and what it stands for."""

    code = Text(max_length=4)
    title = Text(max_length=200)


class Coded(serializers.Serializer):
    """The codes of a stream in words: the list's title (empty for a code not kept here) and whether it is hazardous."""

    title = serializers.SerializerMethodField()
    hazardous = serializers.SerializerMethodField()
    list_version = serializers.SerializerMethodField()
    us_codes = serializers.SerializerMethodField()
    note = Text(max_length=500)

    @extend_schema_field(Text(max_length=200))
    def get_title(self, row: Stream | StreamVersion) -> str:
        """Return the words of the list."""
        return title(row.list_code)

    @extend_schema_field(Flag())
    def get_hazardous(self, row: Stream | StreamVersion) -> bool:
        """Return whether the code has its asterisk."""
        return is_hazardous(row.list_code)

    @extend_schema_field(Text(max_length=20))
    def get_list_version(self, row: Stream | StreamVersion) -> str:
        """Return which version of the list has that title."""
        return listing(row.list_code).list_version if row.list_code else ""

    @extend_schema_field(UsCodeOut(many=True))
    def get_us_codes(self, row: Stream | StreamVersion) -> list[dict[str, str]]:
        """Return the codes of the United States in words."""
        return [{"code": code, "title": us_title(code)} for code in row.us_codes]


class StreamOut(Coded, StreamBrief):
    """A stream as it reads today."""

    kind = Code(max_length=40)


class StreamVersionOut(Coded):
    """How a stream read from a moment on."""

    number = serializers.IntegerField()
    valid_from = InstantField()
    name = Text(max_length=120)
    list_code = Text(max_length=10)


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
        """Say how a stream reads from now on, or since when."""
        row = self.find(Stream.objects.filter(darkroom=self.darkroom), id)
        given = StreamEdit.read(request.data)
        since = given.pop("valid_from", None)
        unchanged = partial(etag.check, request, row.public_id)
        stream.edit(self.ask(request, word=changed_by_id), row, given, unchanged=unchanged, valid_from=since)
        return self.get(request, slug, id)


class VersionsView(ActView):
    """How a stream read over time."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.STREAM_READ}

    @extend_schema(operation_id="streams_versions", parameters=PAGE, responses=page_of(StreamVersionOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List the versions of a stream, the last written first."""
        row = self.find(Stream.objects.filter(darkroom=self.darkroom), id)
        rows = StreamVersion.objects.filter(stream=row)
        return paging.page(request, rows, lambda found: StreamVersionOut(found, many=True).data)
