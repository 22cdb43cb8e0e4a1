"""The waste log, in the form the law asks for, and the disclosure of names in it."""

from datetime import date, datetime
from typing import Any, ClassVar

from django.http import FileResponse, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act, Role
from accounts.commands.entry import Answer
from accounts.gate import ActView
from darkroom_service.api.fields import DayField, Id, InstantField, Shape, Text
from darkroom_service.refusal import NotAllowed
from waste.api import logfiles
from waste.commands import disclosure
from waste.commands.log import Log, People, drawn_up
from waste.models import Disclosure

ROOM = "darkrooms/<slug:slug>"
FORMATS = {
    "json": "application/json",
    "csv": "text/csv; charset=utf-8; header=present",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "pdf": "application/pdf",
}


class LogFilter(Shape):
    """Which days (both included), as of when, in which form."""

    to = DayField(required=False, help_text="The last day, in the darkroom's zone.")
    as_of = InstantField(required=False, help_text="As the record stood then; the same instant gives the same bytes.")
    format = serializers.ChoiceField(list(FORMATS), default="json")
    people = serializers.ChoiceField(["pseudonyms", "names"], default="pseudonyms")

    def get_fields(self) -> dict[str, Any]:
        """Add the field whose name is a word of the language."""
        return {"from": DayField(required=False, help_text="The first day, in the darkroom's zone.")} | dict(
            super().get_fields()
        )


class DisclosureIn(Shape):
    """Why names are needed."""

    reason = Text(max_length=500)


class Disclosed(serializers.Serializer):
    """Until when the asker may read names."""

    id = Id()
    expires_at = InstantField()


class LogView(ActView):
    """The waste log."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.WASTE_LOG_READ}

    @extend_schema(
        operation_id="waste_log_read",
        parameters=[
            LogFilter,
            OpenApiParameter("from", OpenApiTypes.DATE, OpenApiParameter.QUERY, description="The first day."),
        ],
        responses={(200, media.partition(";")[0]): OpenApiTypes.BINARY for media in FORMATS.values()},
    )
    def get(self, request: Request, slug: str) -> HttpResponseBase:
        """Read what came into the containers, what left them, and how, in the order it happened."""
        given = LogFilter.read(request.query_params.dict())
        names = given["people"] == "names"
        if names and disclosure.standing(self.member) is None:
            words = (
                "An admin first says why names are needed: POST waste-log/disclosures with the reason, then ask again."
            )
            raise NotAllowed("waste_log.names_undisclosed", words, roles=[Role.ADMIN.value])
        first: date | None = given.get("from")
        as_of: datetime | None = given.get("as_of")
        log = drawn_up(self.darkroom, first=first, last=given.get("to"), as_of=as_of)
        return _written(log, People(names=names), given["format"])


class DisclosuresView(ActView):
    """The disclosure of names."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.WASTE_LOG_DISCLOSE}

    @extend_schema(operation_id="waste_log_disclose", request=DisclosureIn, responses={201: Disclosed})
    def post(self, request: Request, slug: str) -> Response:
        """Say why names are needed; the asker may then read them for an hour, and the reason stays on record."""
        given = DisclosureIn.read(request.data)
        return self.answer(disclosure.disclose(self.ask(request, word=_disclosed), **given))


def _disclosed(row: Disclosure) -> Answer:
    until = InstantField().to_representation(row.expires_at)
    return Answer(201, {"id": str(row.public_id), "expires_at": until})


def _written(log: Log, people: People, form: str) -> HttpResponseBase:
    """Write the log in one form, as a file to be saved."""
    answer: HttpResponseBase
    if form == "pdf":
        answer = HttpResponse(logfiles.pdf_file(log, people))
    elif form == "xlsx":
        answer = FileResponse(logfiles.xlsx_file(log, people))
    else:
        answer = StreamingHttpResponse((logfiles.csv_file if form == "csv" else logfiles.json_file)(log, people))
    answer.headers["Content-Type"] = FORMATS[form]
    answer.headers["Content-Disposition"] = f'attachment; filename="waste-log-{log.darkroom.slug}.{form}"'
    return answer


urls = [
    path(f"{ROOM}/waste-log", LogView.as_view()),
    path(f"{ROOM}/waste-log/disclosures", DisclosuresView.as_view()),
]
