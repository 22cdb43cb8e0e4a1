"""Sign-offs: see, record, take back."""

from datetime import datetime
from typing import Any, ClassVar
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act, Role
from accounts.api.part import Part
from accounts.commands import signoff
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made
from accounts.models import Membership, Revocation, SignOff
from accounts.models.signoff import SignOffQuerySet
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, DayField, Flag, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of

REVOKED = ("given_up", "revoked", "suspended")


class SignOffIn(Shape):
    """A training: who, in what, until when."""

    members = serializers.ListField(child=Id(), allow_empty=False, max_length=60)
    topics = serializers.ListField(child=Code(max_length=40), allow_empty=False, max_length=20)
    valid_from = DayField(required=False)
    expires_on = DayField(required=False, help_text="The last day it counts; left out, the longest the topic allows.")
    evidence = Text(max_length=500, allow_blank=True, default="", help_text="Ids and dates, rather than names.")


class RevocationIn(Shape):
    """Why a sign-off is taken back."""

    reason = Text(max_length=500)


class SignOffFilter(QueryShape):
    """Which sign-offs to list."""

    member = Id(required=False, help_text="Of this member only.")
    topic = Code(max_length=40, required=False, help_text="In this topic only.")
    standing = serializers.ChoiceField(["true", "false"], required=False, help_text="Counting now, or not.")


class RevocationOut(serializers.Serializer):
    """How a sign-off was taken back."""

    by = Id(source="by.public_id")
    kind = serializers.ChoiceField(REVOKED)
    reason = Text(max_length=500)
    at = InstantField()


class SignOffOut(Part):
    """A sign-off, as far as the reader may see: of others, technicians and admins see topic and standing only."""

    id = Id()
    member = Id()
    topic = Code(max_length=40)
    standing = Flag(help_text="Whether it counts now.")
    topic_number = Whole(low=1, high=32767, required=False, help_text="The topic's version it was given for.")
    signer = Id(required=False)
    valid_from = InstantField(required=False)
    expires_at = InstantField(required=False)
    stale_from = InstantField(required=False, allow_null=True, help_text="When a later version of the topic ends it.")
    evidence = Text(max_length=500, required=False)
    outside_training = Flag(required=False)
    revocation = RevocationOut(required=False, allow_null=True)


class RevokedOut(Made):
    """A sign-off taken back, and how."""

    kind = serializers.ChoiceField(REVOKED)


class RecordedOut(serializers.Serializer):
    """One of the sign-offs just recorded."""

    id = Id()
    member = Id()
    topic = Code(max_length=40)
    expires_at = InstantField()


class RecordOut(serializers.Serializer):
    """The sign-offs just recorded, one for each member and topic."""

    sign_offs = RecordedOut(many=True)


def shown(row: SignOff, viewer: Membership, at: datetime) -> dict[str, Any]:
    """Return what this viewer may see of a sign-off."""
    revocation: Revocation | None = getattr(row, "revocation", None)
    running = row.valid_from <= at < row.counts_until
    seen = {
        "id": row.public_id,
        "member": row.trainee.public_id,
        "topic": row.topic.code,
        "standing": running and (revocation is None or revocation.at > at),
    }
    if row.trainee_id != viewer.pk and not viewer.holds(Role.INSTRUCTOR):
        return seen
    return seen | {
        "topic_number": row.topic_version.number,
        "signer": row.signer.public_id,
        "valid_from": row.valid_from,
        "expires_at": row.expires_at,
        "stale_from": row.stale_from,  # type: ignore[attr-defined]
        "evidence": row.evidence,
        "outside_training": row.outside_training,
        "revocation": revocation,
    }


def _recorded(rows: list[SignOff]) -> Answer:
    made = [
        {"id": r.public_id, "member": r.trainee.public_id, "topic": r.topic.code, "expires_at": r.expires_at}
        for r in rows
    ]
    return Answer(201, RecordOut({"sign_offs": made}).data)


def _revoked(row: Revocation) -> Answer:
    return Answer(201, {"id": str(row.sign_off.public_id), "kind": row.kind})


class SignOffsView(ActView):
    """All sign-offs one may see."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.SIGN_OFF_READ, "POST": Act.SIGN_OFF_GRANT}

    @extend_schema(operation_id="sign_offs_list", parameters=[SignOffFilter, *PAGE], responses=page_of(SignOffOut))
    def get(self, request: Request, slug: str) -> Response:
        """List sign-offs, one's own or as far as the reader may see."""
        at = clock.now()
        rows = _filtered(SignOff.objects.visible_to(self.member), request, at).with_names()

        def write(found: list[SignOff]) -> Any:
            return SignOffOut([shown(row, self.member, at) for row in found], many=True).data

        return paging.page(request, rows, write)

    @extend_schema(operation_id="sign_offs_record", request=SignOffIn, responses={201: RecordOut})
    def post(self, request: Request, slug: str) -> Response:
        """Sign people off, a whole class at once."""
        given = SignOffIn.read(request.data)
        training = signoff.Training(tuple(given.pop("members")), tuple(given.pop("topics")), **given)
        return self.answer(signoff.grant(self.ask(request, word=_recorded), training))


class SignOffView(ActView):
    """One sign-off."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.SIGN_OFF_READ}

    @extend_schema(operation_id="sign_offs_read", responses=SignOffOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a sign-off."""
        row = self.find(SignOff.objects.visible_to(self.member).with_names(), id)
        return Response(SignOffOut(shown(row, self.member, clock.now())).data)


class RevocationView(ActView):
    """The taking back of a sign-off."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.SIGN_OFF_REVOKE}

    @extend_schema(operation_id="sign_offs_revoke", request=RevocationIn, responses={201: RevokedOut})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Revoke a sign-off, suspend it as an admin, or give up one's own."""
        row = self.find(SignOff.objects.visible_to(self.member).select_related("topic", "trainee"), id)
        given = RevocationIn.read(request.data)
        return self.answer(signoff.revoke(self.ask(request, word=_revoked), row, reason=given["reason"]))


def _filtered(rows: SignOffQuerySet, request: Request, at: datetime) -> SignOffQuerySet:
    """Narrow down by the address's query; ids and codes that are not there simply match nothing."""
    given = SignOffFilter.read_query(request)
    if "member" in given:
        rows = rows.filter(trainee__public_id=given["member"])
    if "topic" in given:
        rows = rows.filter(topic__code=given["topic"])
    if "standing" in given:
        standing = SignOff.objects.standing(at).values("pk")
        rows = rows.filter(pk__in=standing) if given["standing"] == "true" else rows.exclude(pk__in=standing)
    return rows
