"""Members: see, enrol, change, leave."""

from dataclasses import replace
from datetime import datetime
from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from django.utils.crypto import salted_hmac
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act, Role
from accounts.api.part import Part
from accounts.commands import membership
from accounts.commands.entry import Answer, Ask, changed_by_id
from accounts.commands.membership import KEEP, NewPerson
from accounts.commands.person import hashed, login_in
from accounts.gate import ActView, Made
from accounts.models import Darkroom, Membership
from darkroom_service import clock
from darkroom_service.api import etag, keys, paging
from darkroom_service.api.fields import Code, DayField, Id, InstantField, Shape, Text, fault
from darkroom_service.api.schema import PAGE, page_of

ROLES = [role.value for role in Role]


class Roles(serializers.ListField):
    """A set of roles, never empty."""

    def __init__(self, **options: Any) -> None:
        super().__init__(child=serializers.ChoiceField(ROLES), allow_empty=False, max_length=len(ROLES), **options)

    def to_internal_value(self, data: Any) -> Any:
        """Return the set."""
        return frozenset(Role(role) for role in super().to_internal_value(data))


class MemberIn(Shape):
    """A new member: either a new login name and a name, or the id of an account that exists."""

    person = Id(required=False, help_text="The id a person reads at /me under their own account.")
    username = Code(max_length=40, required=False, help_text="The login name becomes this, @ and the darkroom's slug.")
    name = Text(max_length=120, required=False)
    email = serializers.EmailField(max_length=254, required=False)
    password = serializers.CharField(max_length=200, trim_whitespace=False, required=False)
    roles = Roles(required=False)
    minor_until = DayField(required=False)

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        """Insist on one of the two ways, not a mixture."""
        new = {"username", "name"} <= values.keys()
        existing = "person" in values and not {"username", "name", "email", "password"} & values.keys()
        if new == existing or (new and "person" in values):
            raise fault("member.unclear", "give username and name for a new person, or person alone for an account")
        return values


class MemberEdit(Shape):
    """What an admin may change; what is left out stays."""

    roles = Roles(required=False)
    minor_until = DayField(required=False, allow_null=True)


class MemberOut(Part):
    """A member, as far as the reader may see: members names, technicians roles, instructors minors, admins all."""

    id = Id()
    name = Text(max_length=120)
    roles = serializers.ListField(child=serializers.ChoiceField(ROLES), required=False)
    minor_until = DayField(required=False, allow_null=True)
    username = Text(max_length=100, required=False)
    email = Text(max_length=254, required=False)
    joined_at = InstantField(required=False)


def shown(member: Membership, viewer: Membership, at: datetime) -> dict[str, Any]:
    """Return what this viewer may see of a member."""
    row: dict[str, Any] = {"id": member.public_id, "name": member.name_for(viewer, at)}
    own_or_admin = viewer.pk == member.pk or viewer.holds(Role.ADMIN)
    if own_or_admin or viewer.holds(Role.TECHNICIAN, Role.INSTRUCTOR):
        row["roles"] = sorted(member.roles)
    if own_or_admin or viewer.holds(Role.INSTRUCTOR):
        row["minor_until"] = member.minor_until
    if own_or_admin:
        row |= {"username": member.person.username, "email": member.person.email, "joined_at": member.joined_at}
    return row


def _person(given: dict[str, Any], room: Darkroom) -> NewPerson | UUID:
    if "person" in given:
        existing: UUID = given["person"]
        return existing
    login = login_in(room, given["username"])
    password = hashed(given.get("password"), username=login, name=given["name"])
    return NewPerson(given["username"], given["name"], password, given.get("email", ""))


def _edited(member: Membership) -> Answer:
    return Answer(200, {"id": str(member.public_id), "roles": sorted(member.roles)})


class MemberView(ActView):
    """One member."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.MEMBER_READ, "PATCH": Act.MEMBER_EDIT}

    @extend_schema(operation_id="members_read", responses=MemberOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a member."""
        member = self.find(in_room(self.darkroom), id)
        body = MemberOut(shown(member, self.member, clock.now())).data
        return etag.answer(request, body, member.public_id, member.version)

    @extend_schema(operation_id="members_edit", request=MemberEdit, responses=MemberOut)
    def patch(self, request: Request, slug: str, id: UUID) -> Response:
        """Change a member's roles or age."""
        member = self.find(in_room(self.darkroom), id)
        given = MemberEdit.read(request.data)
        membership.edit(
            self.ask(request, word=_edited),
            member,
            unchanged=partial(etag.check, request, member.public_id),
            roles=given.get("roles"),
            minor_until=given.get("minor_until", KEEP),
        )
        return self.get(request, slug, id)


class MembersView(ActView):
    """All members."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.MEMBER_READ, "POST": Act.MEMBER_ENROL}

    @extend_schema(operation_id="members_list", parameters=PAGE, responses=page_of(MemberOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the members."""
        at = clock.now()

        def write(found: list[Membership]) -> Any:
            return MemberOut([shown(member, self.member, at) for member in found], many=True).data

        return paging.page(request, in_room(self.darkroom), write)

    @extend_schema(operation_id="members_enrol", request=MemberIn, responses={201: Made})
    def post(self, request: Request, slug: str) -> Response:
        """Enrol somebody: an admin anybody, an instructor a member of the class."""
        given = MemberIn.read(request.data)
        receipt = membership.enrol(
            self._ask(request),
            _person(given, self.darkroom),
            roles=given.get("roles", frozenset({Role.MEMBER})),
            minor_until=given.get("minor_until"),
        )
        return self.answer(receipt)

    def _ask(self, request: Request) -> Ask:
        """Gather who asks; the digest kept on record is taken over a keyed mark instead of the password.

        A plain digest would let a reader of the database try passwords out at speed.
        """
        body = dict(request.data)
        if "password" in body:
            body["password"] = salted_hmac(
                "password in a request", str(body["password"]), algorithm="sha256"
            ).hexdigest()
        said = keys.digest("POST", request.path, body)
        return replace(self.ask(request, word=self.made("members")), digest=said)


class DepartureView(ActView):
    """The end of a membership."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.MEMBER_LEAVE}

    @extend_schema(operation_id="members_depart", request=Shape, responses={200: Made})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Leave, or remove a member as an admin."""
        # Who has left is found too, so that a repeated key is answered as before; the command refuses the rest.
        member = self.find(Membership.objects.filter(darkroom=self.darkroom), id)
        Shape.read(request.data)
        return self.answer(membership.depart(self.ask(request, word=changed_by_id), member))


def in_room(room: Darkroom) -> Any:
    """Return the active members of a darkroom, with their persons."""
    return Membership.objects.active().filter(darkroom=room).select_related("person")
