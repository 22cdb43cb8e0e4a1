"""Documents: sent as they are, judged by content, given back only as files to be saved."""

import hashlib
from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.urls import path
from django.utils.http import content_disposition_header
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.exceptions import APIException
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView, Made, unseen
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import DayField, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.localday import day_of
from waste.commands import document
from waste.models import Document, MediaType, Pickup
from waste.science.document import HIGHEST_SIZE

ROOM = "darkrooms/<slug:slug>"
# Whatever a browser makes of it, it may run nothing and load nothing.
INERT = "sandbox; default-src 'none'"


class FileTooLarge(APIException):
    """More was sent than a file may have; nothing of it was read when its length was told."""

    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_code = "document.too_large"
    default_detail = f"A file has at most {HIGHEST_SIZE // 1024**2} MiB; send a smaller scan."


class Upload(dict[str, Any]):
    """What a request with a file says: its digest and size; ``content`` holds the bytes."""

    content: bytes = b""


class FileParser(BaseParser):
    """Read ``application/octet-stream`` up to the highest size and not a byte further."""

    media_type = "application/octet-stream"

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Any = None) -> Upload:
        """Return the digest and size, with the bytes beside them."""
        request = (parser_context or {})["request"]
        told = request.META.get("CONTENT_LENGTH") or "0"
        if not told.isdecimal() or int(told) > HIGHEST_SIZE:
            raise FileTooLarge
        data: bytes = stream.read(HIGHEST_SIZE + 1)
        if len(data) > HIGHEST_SIZE:
            raise FileTooLarge
        upload = Upload(sha256=hashlib.sha256(data).hexdigest(), size=len(data), name=request.query_params.get("name"))
        upload.content = data
        return upload


class NameIn(Shape):
    """The file's name, without any path."""

    name = Text(max_length=100)


class RemovalIn(Shape):
    """Why it is removed."""

    reason = Text(max_length=500)


class DocumentOut(serializers.Serializer):
    """A document; its bytes are at ``content`` until it is removed."""

    id = Id(source="public_id")
    pickup = Id(source="pickup.public_id", allow_null=True)
    subject = Text(max_length=120)
    name = Text(max_length=120)
    media_type = serializers.ChoiceField(MediaType.choices)
    size = Whole(low=0, high=HIGHEST_SIZE)
    sha256 = Text(max_length=64)
    by = Id(source="entry.by.public_id")
    recorded_at = InstantField(source="entry.recorded_at")
    keep_until = DayField(source="kept")
    removed_at = InstantField(source="removal.occurred_at", default=None, allow_null=True)


class DocumentsView(ActView):
    """All documents of a darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DOCUMENT_READ}

    @extend_schema(operation_id="documents_list", parameters=PAGE, responses=page_of(DocumentOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the documents, the latest first."""
        return paging.page(request, Document.objects.of(self.darkroom), lambda found: [_shown(each) for each in found])


class PastView(ActView):
    """What need not be kept any more."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DOCUMENT_READ}

    @extend_schema(operation_id="documents_past_retention", responses=DocumentOut(many=True))
    def get(self, request: Request, slug: str) -> Response:
        """List the documents past their retention. Nothing is removed by itself; an admin may."""
        today = day_of(clock.now(), self.darkroom.zone)
        return Response([_shown(each) for each in document.past_retention(self.darkroom, today)])


class PickupDocumentsView(ActView):
    """The documents of a pickup."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.DOCUMENT_ADD}
    parser_classes = (FileParser,)

    @extend_schema(
        operation_id="pickups_attach",
        parameters=[OpenApiParameter("name", {"type": "string", "maxLength": 100}, required=True)],
        request={"application/octet-stream": OpenApiTypes.BINARY},
        responses={201: Made},
    )
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Attach a file: its bytes are the body, its name stands in the address."""
        row = self.find(Pickup.objects.filter(darkroom=self.darkroom), id)
        upload: Upload = request.data  # type: ignore[assignment]
        given = NameIn.read({"name": request.query_params.get("name")})
        ask = self.ask(request, word=self.made("documents"))
        return self.answer(
            document.attach(ask, row, data=getattr(upload, "content", b""), sha256=upload.get("sha256", ""), **given)
        )


class DocumentView(ActView):
    """One document."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DOCUMENT_READ}

    @extend_schema(operation_id="documents_read", responses=DocumentOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read about a document."""
        return Response(_shown(self.find(Document.objects.of(self.darkroom), id)))


class ContentView(ActView):
    """The bytes of a document."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.DOCUMENT_READ}

    @extend_schema(operation_id="documents_content", responses={(200, "application/octet-stream"): OpenApiTypes.BINARY})
    def get(self, request: Request, slug: str, id: UUID) -> HttpResponse:
        """Fetch a document as a file to be saved; it is never shown in place."""
        row = self.find(Document.objects.of(self.darkroom), id)
        data = document.content(row)
        if data is None:
            raise unseen()
        headers = {
            "Content-Disposition": content_disposition_header(as_attachment=True, filename=row.name) or "attachment",
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": INERT,
            "Cache-Control": "private, no-store",
        }
        return HttpResponse(data, content_type=row.media_type, headers=headers)


class RemovalView(ActView):
    """The removal of a document past its retention."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.DOCUMENT_REMOVE}

    @extend_schema(operation_id="documents_remove", request=RemovalIn, responses={201: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Delete the bytes of a document past its retention; name and digest stay."""
        row = self.find(Document.objects.of(self.darkroom), id)
        given = RemovalIn.read(request.data)
        return self.answer(document.remove(self.ask(request, word=self.made("documents")), row, **given))


def _shown(row: Document) -> Any:
    row.kept = document.kept_until(row)  # type: ignore[attr-defined]
    return DocumentOut(row).data


urls = [
    path(f"{ROOM}/documents", DocumentsView.as_view()),
    path(f"{ROOM}/documents/past-retention", PastView.as_view()),
    path(f"{ROOM}/documents/<uuid:id>", DocumentView.as_view()),
    path(f"{ROOM}/documents/<uuid:id>/content", ContentView.as_view()),
    path(f"{ROOM}/documents/<uuid:id>/removal", RemovalView.as_view()),
    path(f"{ROOM}/pickups/<uuid:id>/documents", PickupDocumentsView.as_view()),
]
