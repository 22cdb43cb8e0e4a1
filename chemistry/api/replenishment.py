"""Replenishment: replenisher added to a working tank, overflow poured off."""

from typing import ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer
from accounts.gate import Made
from chemistry.api.batchwords import FlagOut
from chemistry.api.ofvessel import Claims, OfVessel
from chemistry.commands import replenishment
from chemistry.commands.flagtext import worded
from chemistry.models import Transfer
from darkroom_service.api.fields import Id


class ReplenishmentIn(Claims):
    """What was added from which vessel, and what was poured off first into which container."""

    replenisher = Id()
    added = Volume(positive=True)
    poured_off = Volume(required=False)
    container = Id(required=False, help_text="Where the overflow went; needed if there was any.")


class Replenished(Made):
    """The rules it broke, and what is still owed."""

    flags = FlagOut(many=True)
    owed = Volume()


class ReplenishmentView(OfVessel):
    """A dose of replenisher."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.VESSEL_REPLENISH}
    shape = ReplenishmentIn

    @extend_schema(operation_id="vessels_replenish", request=ReplenishmentIn, responses={201: Replenished})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down replenisher that was added; what was owed for the films is owed no more."""
        return self.take(request, id, replenishment.replenish, self._worded)

    def _worded(self, row: Transfer) -> Answer:
        made = self.made("transfers")(row)
        owed = row.target.replenish_owed if row.target else 0
        return Answer(
            201, made.body | {"flags": worded(row.flags), "owed": Volume().to_representation(owed)}, made.location
        )


urls = [path("vessels/<uuid:id>/replenishment", ReplenishmentView.as_view())]
