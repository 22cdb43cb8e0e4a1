"""Oneself."""

from collections import defaultdict
from datetime import datetime
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.acts import Role
from accounts.models import Membership, SignOff
from darkroom_service import clock
from darkroom_service.api.fields import Code, DayField, Id, InstantField, Text


class HeldOut(serializers.Serializer):
    """A topic one holds now."""

    topic = Code(max_length=40)
    expires_at = InstantField(help_text="When the last sign-off in it runs out.")


class MembershipOut(serializers.Serializer):
    """What one is in one darkroom."""

    id = Id()
    darkroom = Code(max_length=40)
    darkroom_name = Text(max_length=120)
    roles = serializers.ListField(child=serializers.ChoiceField([role.value for role in Role]))
    minor_until = DayField(allow_null=True)
    topics = HeldOut(many=True)


class MeOut(serializers.Serializer):
    """Oneself and one's darkrooms. The id is what an admin needs to enrol this account."""

    id = Id()
    username = Text(max_length=100)
    name = Text(max_length=120)
    email = Text(max_length=254)
    memberships = MembershipOut(many=True)


class MeView(APIView):
    """Oneself."""

    @extend_schema(operation_id="me", responses=MeOut)
    def get(self, request: Request) -> Response:
        """Read who one is, where one is a member, as what, and which topics one holds now."""
        me: Any = request.user
        mine = list(Membership.objects.active().filter(person=me.pk).select_related("darkroom").order_by("pk"))
        held = _held(mine, clock.now())
        rows = [
            {
                "id": member.public_id,
                "darkroom": member.darkroom.slug,
                "darkroom_name": member.darkroom.name,
                "roles": sorted(member.roles),
                "minor_until": member.minor_until,
                "topics": [{"topic": code, "expires_at": at} for code, at in sorted(held[member.pk].items())],
            }
            for member in mine
        ]
        body = {"id": me.public_id, "username": me.username, "name": me.name, "email": me.email, "memberships": rows}
        return Response(MeOut(body).data)


def _held(mine: list[Membership], at: datetime) -> dict[int, dict[str, datetime]]:
    """Return for each membership the topics held now and when the last sign-off in each runs out."""
    held: dict[int, dict[str, datetime]] = defaultdict(dict)
    standing = SignOff.objects.standing(at).filter(trainee__in=mine).order_by("expires_at")
    for member, code, ends in standing.values_list("trainee", "topic__code", "expires_at"):
        held[member][code] = ends
    return held
