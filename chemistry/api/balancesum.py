"""Balances of a month, of the darkroom and of a container, and pictures of the flow."""

import re
from datetime import date
from typing import ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import SignedVolume
from accounts.gate import ActView
from chemistry.api.balancepicture import Part, picture
from chemistry.commands import balance, balancesum
from chemistry.commands.balancesum import Account
from chemistry.models import Batch, Place
from darkroom_service.api.fields import Id, Shape, Text, fault
from darkroom_service.localday import months_after, start_of
from waste.models import Container

MONTH = re.compile(r"(19[5-9]\d|20\d\d)-(0[1-9]|1[0-2])", re.ASCII)


class TimeFilter(Shape):
    """Which month; left out, the whole time."""

    month = Text(max_length=7, required=False, help_text="A month of the darkroom's calendar, such as 2026-11.")

    def validate_month(self, text: str) -> date:
        """Return the first day of the month."""
        if not MONTH.fullmatch(text):
            raise fault("month.malformed", "a month looks like 2026-11")
        return date.fromisoformat(f"{text}-01")


class FlowFilter(TimeFilter):
    """Which batch, or which month; neither is the whole time."""

    batch = Id(required=False)


class AccountOut(serializers.Serializer):
    """What came, less what went away and is stored, is the difference, which is nothing.

    made + water - carried_out - poured - drain - spilled - evaporated - unaccounted - stored = difference.
    """

    made = SignedVolume(help_text="From packs.")
    water = SignedVolume()
    used = SignedVolume(help_text="Drawn into tanks.")
    returned = SignedVolume(help_text="Poured back from tanks.")
    carried_out = SignedVolume(help_text="Clung to film and paper.")
    evaporated = SignedVolume()
    spilled = SignedVolume()
    poured = SignedVolume(help_text="Into waste containers, from here.")
    drain = SignedVolume(help_text="Down the drain, from here.")
    unaccounted = SignedVolume(help_text="Went missing, less what was found.")
    stored = SignedVolume(help_text="What vessels hold more than before.")
    difference = SignedVolume()
    released = SignedVolume(help_text="All drain releases, by the waste record.")
    by_hand = SignedVolume(help_text="Into waste containers from no vessel here.")
    collected = SignedVolume(help_text="Out of waste containers, by pickups.")
    found = SignedVolume(help_text="What pickups found beyond the record; below zero, what was missing.")


class ContainerBalance(serializers.Serializer):
    """poured + found - collected - contents = difference, which is nothing."""

    poured = SignedVolume()
    found = SignedVolume()
    collected = SignedVolume()
    contents = SignedVolume()
    difference = SignedVolume()


class DarkroomBalanceView(ActView):
    """The balance of a month or of the whole time."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.BALANCE_READ}

    @extend_schema(operation_id="balance_darkroom", parameters=[TimeFilter], responses=AccountOut)
    def get(self, request: Request, slug: str) -> Response:
        """Draw up where liquid came from and went to, in a month or in all."""
        given = TimeFilter.read(request.query_params.dict())
        return Response(AccountOut(_told(_of_time(self, given.get("month")))).data)


class ContainerBalanceView(ActView):
    """The balance of a waste container."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.BALANCE_READ}

    @extend_schema(operation_id="containers_balance", responses=ContainerBalance)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Draw up what came into a container and what left it."""
        row = self.find(Container.objects.of(self.darkroom), id)
        return Response(ContainerBalance(balancesum.of_container(row)).data)


class FlowView(ActView):
    """The picture of a balance."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.BALANCE_READ}

    @extend_schema(
        operation_id="balance_picture", parameters=[FlowFilter], responses={(200, "image/svg+xml"): OpenApiTypes.STR}
    )
    def get(self, request: Request, slug: str) -> HttpResponse:
        """Draw where liquid came from and went to, of a batch, a month or in all."""
        given = FlowFilter.read(request.query_params.dict())
        if "batch" in given:
            rows = Batch.objects.filter(darkroom=self.darkroom).select_related("formula_version__formula")
            drawn = _of_batch(self.find(rows, given["batch"]))
        else:
            month: date | None = given.get("month")
            drawn = _picture(f"{self.darkroom.name}, {f'{month:%Y-%m}' if month else 'in all'}", _of_time(self, month))
        headers = {"Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox"}
        return HttpResponse(drawn, content_type="image/svg+xml; charset=utf-8", headers=headers)


def _of_time(view: ActView, month: date | None) -> Account:
    if month is None:
        return balancesum.of_time(view.darkroom)
    zone = view.darkroom.zone
    return balancesum.of_time(view.darkroom, start_of(month, zone), start_of(months_after(month, 1), zone))


def _told(account: Account) -> dict[str, int]:
    named = ("made", "water", "used", "returned", "stored", "difference", "released", "by_hand", "collected", "found")
    places = ("carried_out", "evaporated", "spilled", "drain", "unaccounted")
    told = {name: getattr(account, name) for name in named} | {name: account.places[name] for name in places}
    return told | {"poured": account.places[Place.CONTAINER]}


def _picture(title: str, account: Account) -> str:
    told = _told(account)
    came = [("made", told["made"]), ("water", told["water"])]
    gone = ("stored", "carried_out", "poured", "drain", "spilled", "evaporated", "unaccounted", "collected")
    return picture(title, came, [(_words(name), told[name]) for name in gone])


def _of_batch(batch: Batch) -> str:
    (found,) = balance.drawn_up([batch])
    came: list[Part] = [("made", found.made), ("water", found.water), ("from batches", found.from_batches)]
    went: list[Part] = [("into batches", found.into_batches), ("in vessels", found.in_vessels)]
    went += [(_words(place), found.places[place]) for place in balance.AWAY]
    return picture(f"Batch {batch.code}, {batch.formula_version.formula.name}", came, went)


def _words(name: str) -> str:
    said = {"stored": "more in vessels", "collected": "of it all, collected", "poured": "poured to waste"}
    return said.get(name, name.replace("_", " "))


urls = [
    path("balance/darkroom", DarkroomBalanceView.as_view()),
    path("balance.svg", FlowView.as_view()),
    path("containers/<uuid:id>/balance", ContainerBalanceView.as_view()),
]
