"""Who belongs to which darkroom, as what, and since when."""

import uuid
from datetime import datetime
from typing import ClassVar, Self

from django.db import models

from accounts.acts import Role
from accounts.models.darkroom import Darkroom
from accounts.models.entry import Entry
from accounts.models.person import Person
from darkroom_service.localday import day_of


class MembershipQuerySet(models.QuerySet["Membership"]):
    """Filters on memberships."""

    def active(self) -> Self:
        return self.filter(left_at=None, person__is_active=True)

    def holding(self, *roles: Role) -> Self:
        """Keep the active memberships that hold any of these roles."""
        wanted = models.Q()
        for role in roles:
            wanted |= models.Q(**{f"is_{role.value}": True})
        return self.active().filter(wanted)


class Membership(models.Model):
    """One person in one darkroom. Ledger rows name the membership, so that erasure touches only this and the person."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="memberships")
    person = models.ForeignKey(Person, models.PROTECT, related_name="memberships")
    is_member = models.BooleanField(default=True)
    is_technician = models.BooleanField(default=False)
    is_instructor = models.BooleanField(default=False)
    is_admin = models.BooleanField(default=False)
    minor_until = models.DateField(null=True, blank=True)
    joined_at = models.DateTimeField()
    left_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects: ClassVar[models.Manager["Membership"]] = MembershipQuerySet.as_manager()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "person"], name="membership_once_per_darkroom"),)

    @property
    def roles(self) -> frozenset[Role]:
        return frozenset(role for role in Role if getattr(self, f"is_{role.value}"))

    def holds(self, *roles: Role) -> bool:
        """Tell whether any of these roles is held now."""
        return any(getattr(self, f"is_{role.value}") for role in roles)

    def is_minor(self, at: datetime) -> bool:
        """Tell whether they were a minor at an instant, by the darkroom's own calendar."""
        return self.minor_until is not None and day_of(at, self.darkroom.zone) < self.minor_until

    def name_for(self, viewer: "Membership", at: datetime) -> str:
        """Return the name this viewer may read: to plain members, a minor is initials."""
        plain = not viewer.holds(Role.TECHNICIAN, Role.INSTRUCTOR, Role.ADMIN)
        if plain and viewer.pk != self.pk and self.is_minor(at):
            return " ".join(f"{word[0]}." for word in self.person.name.split())
        return self.person.name


class RoleChange(models.Model):
    """A role given or taken: with these rows the roles of any past moment can be told."""

    append_only = True

    membership = models.ForeignKey(Membership, models.PROTECT, related_name="role_changes")
    role = models.CharField(max_length=12)
    held = models.BooleanField()
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
