"""Small views that show one piece of plumbing each, so that it is tested without any rule of the trade."""

from decimal import Decimal
from fractions import Fraction

from django.contrib.auth import get_user_model
from django.db import DataError, OperationalError
from django.urls import path
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.response import Response
from rest_framework.views import APIView

from darkroom_service import refusal
from darkroom_service.api import errors, etag, fields, keys, paging
from darkroom_service.quantity import Dimension

REFUSALS = {
    "malformed": refusal.Malformed("vessel.unknown", "no vessel by that id here", pointer="/vessel"),
    "not-allowed": refusal.NotAllowed("sign_off.missing", "ask an instructor for the powder course", topic="powder"),
    "not-found": refusal.NotFound("thing.unknown", "a secret reason", secret=1),
    "clash": refusal.Clash("batch.exhausted", "300.0 mL remain", remaining_ml=Decimal("3E+2"), rolls=Fraction(2, 3)),
    "unworkable": refusal.Unworkable("dilution.ambiguous", "say 1+3 or 1+2"),
    "stale": refusal.Stale("precondition.stale", "read it again"),
    "busy": OperationalError("database is locked"),
    "too-long": DataError("value too long"),
    "bug": RuntimeError("the inside of the program"),
}


class Open(APIView):
    permission_classes = (AllowAny,)


class RefusingView(Open):
    def get(self, request, kind):
        raise REFUSALS[kind]


class SizedView(Open):
    """Says how big the JSON was that reached it."""

    def post(self, request):
        return Response({"said": keys.digest("POST", request.path, request.data)})


class Film(fields.Shape):
    format = fields.Code()
    count = fields.Whole(low=1, high=8)


class Plan(fields.Shape):
    name = fields.Text(max_length=20)
    volume = fields.QuantityField(Dimension.VOLUME, positive=True)
    films = Film(many=True)
    at = fields.InstantField(required=False)


class PlanView(Open):
    def post(self, request):
        shape = Plan(data=request.data)
        shape.is_valid(raise_exception=True)
        return Response(Plan(shape.validated_data).data, status=201)


class KeyView(Open):
    def post(self, request):
        return Response({"key": str(keys.idempotency_key(request))})


class PersonOut(serializers.Serializer):
    id = serializers.IntegerField()


class PeopleView(Open):
    column = "-id"

    def get(self, request):
        rows = get_user_model().objects.all()
        return paging.page(request, rows, lambda found: PersonOut(found, many=True).data, column=self.column)


class OldestFirstView(PeopleView):
    column = "id"


class TaggedView(Open):
    def get(self, request):
        return etag.answer(request, {"name": "A"}, 42, 3)

    def patch(self, request):
        etag.check(request, 42, 3)
        return Response({"name": "B"})


class ClosedView(APIView):
    def get(self, request):
        return Response({})


class LoginView(Open):
    throttle_scope = "login"

    def post(self, request):
        return Response({})


urlpatterns = [
    path("api/refuse/<kind>", RefusingView.as_view()),
    path("api/digest", SizedView.as_view()),
    path("api/plans", PlanView.as_view()),
    path("api/key", KeyView.as_view()),
    path("api/people", PeopleView.as_view()),
    path("api/oldest", OldestFirstView.as_view()),
    path("api/tagged", TaggedView.as_view()),
    path("api/closed", ClosedView.as_view()),
    path("api/login", LoginView.as_view()),
    path("page", lambda request: errors.absent()),
]

handler400 = errors.bad_request
handler403 = errors.forbidden
handler404 = errors.not_found
handler500 = errors.server_error
