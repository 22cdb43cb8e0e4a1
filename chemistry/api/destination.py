"""Destinations: where the spent liquid of a formula goes at each strength."""

from typing import ClassVar

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView, Made
from chemistry.commands import destination
from chemistry.models import Destination
from darkroom_service.api import paging
from darkroom_service.api.fields import Id, Shape, Text
from darkroom_service.api.schema import PAGE, page_of


class DestinationIn(Shape):
    """The stream that takes a formula's spent liquid at one dilution; one set before gives way."""

    formula = Id()
    dilution = Text(max_length=12, help_text="stock, or 1+n.")
    stream = Id()


class DestinationOut(serializers.Serializer):
    """A preset: the open container of the stream takes the liquid when nobody says otherwise."""

    id = Id(source="public_id")
    formula = Id(source="formula.public_id")
    dilution = Text(max_length=12)
    stream = Id(source="stream.public_id")


class DestinationsView(ActView):
    """All presets of a darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.LINE_READ, "POST": Act.LINE_EDIT}

    @extend_schema(operation_id="destinations_list", parameters=PAGE, responses=page_of(DestinationOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the presets."""
        rows = Destination.objects.filter(darkroom=self.darkroom).select_related("formula", "stream")
        return paging.page(request, rows, lambda found: DestinationOut(found, many=True).data)

    @extend_schema(operation_id="destinations_create", request=DestinationIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Set where spent liquid goes."""
        given = DestinationIn.read(request.data)
        return self.answer(destination.write(self.ask(request), **given))


urls = [path("destinations", DestinationsView.as_view())]
