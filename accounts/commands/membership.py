"""Joining a darkroom, changing what one may do there, and leaving it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import F

from accounts.acts import Act, Role
from accounts.commands.entry import Work, command
from accounts.commands.person import login_in
from accounts.models import Darkroom, Membership, Person, RoleChange, Token
from darkroom_service.refusal import Clash, Malformed, NotAllowed, NotFound

KEEP = date.min


@dataclass(frozen=True)
class NewPerson:
    """Somebody without an account: the darkroom makes one. ``password`` is the hash to store, never the password."""

    username: str
    name: str
    password: str
    email: str = ""


@command(Act.MEMBER_ENROL)
def enrol(
    work: Work, person: NewPerson | UUID, *, roles: frozenset[Role], minor_until: date | None = None
) -> Membership:
    """Make somebody a member: a new person, or the holder of an account by the id they read at ``/me`` and handed over.

    An admin may give any role but admin at once; an instructor enrols plain members. A second person's consent to a new
    instructor is not asked here: it takes a second request, and belongs to the flow of invitations.
    """
    _may_enrol(work, roles)
    who = _existing(person) if isinstance(person, UUID) else _new(work.darkroom, person)
    member = Membership.objects.filter(darkroom=work.darkroom, person=who).first()
    if member and member.left_at is None:
        raise Clash("member.already", "This person is a member already. Change their roles instead.")
    member = member or Membership(darkroom=work.darkroom, person=who, is_member=False, version=0)
    member.joined_at, member.left_at, member.minor_until = work.recorded_at, None, minor_until
    member.version += 1
    member.save()
    _set_roles(work, member, roles)
    return member


def _may_enrol(work: Work, roles: frozenset[Role]) -> None:
    if Role.ADMIN in roles:
        words = "Nobody becomes an admin at once. Enrol them first, then change their roles."
        raise NotAllowed("role.not_at_once", words, roles=sorted(roles))
    if roles != {Role.MEMBER} and not work.by.holds(Role.ADMIN):
        words = "An instructor enrols plain members. Leave the roles out, or ask an admin."
        raise NotAllowed("role.beyond", words, roles=sorted(roles))


def _existing(public_id: UUID) -> Person:
    if person := Person.objects.filter(public_id=public_id, is_active=True).first():
        return person
    words = "No account has that id. Ask the person for the id shown under their own account."
    raise Malformed("person.unknown", words, pointer="/person")


def _new(room: Darkroom, new: NewPerson) -> Person:
    login = login_in(room, new.username)
    if Person.objects.filter(username=login).exists():
        words = "A present or former member of this darkroom has that login name. Choose another."
        raise Clash("login.taken", words, username=login)
    return Person.objects.create(username=login, name=new.name, email=new.email, password=new.password)


@command(Act.MEMBER_EDIT)
def edit(
    work: Work,
    member: Membership,
    *,
    unchanged: Callable[[int], None],
    roles: frozenset[Role] | None = None,
    minor_until: date | None = KEEP,
) -> Membership:
    """Change roles, or the day until which somebody is a minor (``KEEP`` leaves it).

    Nobody raises their own role or ends their own minority; the last admin stays one. That a second admin or instructor
    confirms a new admin or instructor takes a second request, and belongs to the flow of invitations.
    """
    member = _found(work, member)
    unchanged(member.version)
    own = member.pk == work.by.pk
    if own and ((roles or frozenset()) - member.roles or minor_until not in {KEEP, member.minor_until}):
        words = "Nobody raises their own role or changes their own age. Ask another admin of the darkroom."
        raise NotAllowed("role.own", words)
    if roles is not None:
        if Role.ADMIN not in roles:
            _keep_an_admin(member)
        _set_roles(work, member, roles)
    if minor_until != KEEP:
        member.minor_until = minor_until
    member.version += 1
    member.save(update_fields=["minor_until", "version"])
    return member


@command(Act.MEMBER_LEAVE)
def depart(work: Work, member: Membership) -> Membership:
    """End a membership: one's own, or anybody's by an admin. What they did stays on record.

    From the next request on the darkroom does not exist for them; their tokens go with their last darkroom.
    """
    member = _found(work, member)
    if member.pk != work.by.pk and not work.by.holds(Role.ADMIN):
        words = "You may leave yourself. Ask an admin to remove somebody else."
        raise NotAllowed("member.not_own", words, roles=[Role.ADMIN.value])
    _keep_an_admin(member)
    _set_roles(work, member, frozenset())
    member.left_at = work.recorded_at
    member.version += 1
    member.save(update_fields=["left_at", "version"])
    if not Membership.objects.active().filter(person=member.person_id).exists():
        Token.objects.filter(user=member.person_id).delete()
    return member


def _found(work: Work, member: Membership) -> Membership:
    """Read the membership again under the lock."""
    if found := Membership.objects.active().filter(darkroom=work.darkroom, pk=member.pk).first():
        return found
    raise NotFound("thing.unknown", "There is nothing here by that name.")


def _keep_an_admin(member: Membership) -> None:
    """Refuse to lose the only admin; the darkroom's lock makes the count hold until we commit."""
    if not member.is_admin:
        return
    others = Membership.objects.holding(Role.ADMIN).filter(darkroom=member.darkroom_id).exclude(pk=member.pk)
    if not others.exists():
        words = "This is the darkroom's only admin. Make somebody else an admin first."
        raise Clash("admin.last", words)


def _set_roles(work: Work, member: Membership, roles: Iterable[Role]) -> None:
    """Give and take roles until exactly these are held, each change recorded."""
    wanted = frozenset(roles)
    changed = sorted(wanted ^ member.roles)
    for role in changed:
        setattr(member, f"is_{role.value}", role in wanted)
    member.save(update_fields=[f"is_{role.value}" for role in Role])
    RoleChange.objects.bulk_create(
        RoleChange(membership=member, role=role, held=role in wanted, at=work.recorded_at, entry_id=work.entry_id)
        for role in changed
    )
    if {Role.TECHNICIAN, Role.INSTRUCTOR} & set(changed):
        # The darkroom shows what second-person rules it proposes, which follows from these two.
        Darkroom.objects.filter(pk=work.darkroom.pk).update(version=F("version") + 1)
