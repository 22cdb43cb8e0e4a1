"""Pickups: planned, prepared, confirmed, cancelled, corrected, and the copy that comes back."""

from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import Shape
from darkroom_service.api.schema import PAGE, page_of
from waste.api.pickupwords import (
    CancellationIn,
    ConfirmationIn,
    CopyIn,
    CorrectionIn,
    PickupEdit,
    PickupIn,
    PickupMoved,
    PickupOut,
    PreparationIn,
)
from waste.commands import confirming, pickup
from waste.commands.confirming import Left
from waste.commands.pickup import Item
from waste.models import Pickup

ROOM = "darkrooms/<slug:slug>"


def _moved(row: Pickup) -> Answer:
    return Answer(200, {"id": str(row.public_id), "state": row.state, "flags": row.flags})


def _left(given: dict[str, Any]) -> dict[str, Any]:
    """Turn what was told of containers, if anything, into what the command takes."""
    if "left" not in given:
        return given
    told = [
        Left(each["container"], each.get("volume"), each.get("emptied"), _grams(each.get("mass")))
        for each in given["left"]
    ]
    return given | {"left": told}


def _grams(mass: Any) -> int | None:
    return None if mass is None else round(mass)


class PickupsView(ActView):
    """All pickups of a darkroom."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.PICKUP_READ, "POST": Act.PICKUP_PREPARE}

    @extend_schema(operation_id="pickups_list", parameters=PAGE, responses=page_of(PickupOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the pickups, the latest first."""
        return paging.page(request, Pickup.objects.of(self.darkroom), lambda found: PickupOut(found, many=True).data)

    @extend_schema(operation_id="pickups_create", request=PickupIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Plan a way out for some containers."""
        given = PickupIn.read(request.data)
        items = [Item(**each) for each in given.pop("items")]
        return self.answer(pickup.plan(self.ask(request, word=self.made("pickups")), items=items, **given))


class PickupView(ActView):
    """One pickup."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.PICKUP_READ, "PATCH": Act.PICKUP_PREPARE}

    @extend_schema(operation_id="pickups_read", responses=PickupOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a pickup."""
        row = self.find(Pickup.objects.of(self.darkroom), id)
        return etag.answer(request, PickupOut(row).data, row.public_id, row.version)

    @extend_schema(operation_id="pickups_edit", request=PickupEdit, responses=PickupOut)
    def patch(self, request: Request, slug: str, id: UUID) -> Response:
        """Change an open pickup; a prepared one has to be prepared again."""
        row = self.find(Pickup.objects.of(self.darkroom), id)
        given = PickupEdit.read(request.data)
        items = [Item(**each) for each in given.pop("items")] if "items" in given else None
        unchanged = partial(etag.check, request, row.public_id)
        pickup.edit(self.ask(request, word=_moved), row, given, items=items, unchanged=unchanged)
        return self.get(request, slug, id)


class StepView(ActView):
    """A step of a pickup; the classes below say which."""

    def step(self, request: Request, id: UUID, change: Any, shape: type[Shape], at: str = "occurred_at") -> Response:
        """Find the pickup and take the step."""
        row = self.find(Pickup.objects.of(self.darkroom), id)
        given = shape.read(request.data)
        ask = self.ask(request, word=_moved, occurred_at=given.pop(at, None))
        return self.answer(change(ask, row, **_left(given)))


class PreparationView(StepView):
    """The word that it stands ready."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.PICKUP_PREPARE}

    @extend_schema(operation_id="pickups_prepare", request=PreparationIn, responses={200: PickupMoved})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Say that a pickup stands ready, with its papers."""
        return self.step(request, id, pickup.prepare, PreparationIn)


class ConfirmationView(StepView):
    """The word that it left."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.PICKUP_CONFIRM}

    @extend_schema(operation_id="pickups_confirm", request=ConfirmationIn, responses={200: PickupMoved})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Confirm that a prepared pickup left, and book out what it took."""
        return self.step(request, id, confirming.confirm, ConfirmationIn, "collected_at")


class CorrectionView(StepView):
    """What really left."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.PICKUP_CORRECT}

    @extend_schema(operation_id="pickups_correct", request=CorrectionIn, responses={200: PickupMoved})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Correct what a confirmed pickup took."""
        return self.step(request, id, confirming.correct, CorrectionIn)


class CancellationView(StepView):
    """The word that it does not take place."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.PICKUP_PREPARE}

    @extend_schema(operation_id="pickups_cancel", request=CancellationIn, responses={200: PickupMoved})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Call an open pickup off."""
        return self.step(request, id, pickup.cancel, CancellationIn)


class CopyView(StepView):
    """The return of the signed copy."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.PICKUP_PREPARE}

    @extend_schema(operation_id="pickups_copy", request=CopyIn, responses={200: PickupMoved})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down that the signed copy or receipt came back."""
        return self.step(request, id, pickup.receive_copy, CopyIn)


urls = [
    path(f"{ROOM}/pickups", PickupsView.as_view()),
    path(f"{ROOM}/pickups/<uuid:id>", PickupView.as_view()),
    path(f"{ROOM}/pickups/<uuid:id>/preparation", PreparationView.as_view()),
    path(f"{ROOM}/pickups/<uuid:id>/confirmation", ConfirmationView.as_view()),
    path(f"{ROOM}/pickups/<uuid:id>/correction", CorrectionView.as_view()),
    path(f"{ROOM}/pickups/<uuid:id>/cancellation", CancellationView.as_view()),
    path(f"{ROOM}/pickups/<uuid:id>/copy", CopyView.as_view()),
]
