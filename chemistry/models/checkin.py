"""After pouring: what was processed, through which line."""

import uuid
from typing import ClassVar, Self

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from accounts.acts import Role
from accounts.models import Darkroom, Entry, Membership
from chemistry.models.line import Line
from chemistry.models.movement import Movement, Place
from chemistry.models.plan import TankPlan
from chemistry.models.vessel import Vessel


class CheckInQuerySet(models.QuerySet["CheckIn"]):
    """Filters on check-ins."""

    def visible_to(self, member: Membership) -> Self:
        """Keep a person's own; technicians and instructors see all of the darkroom."""
        if member.holds(Role.TECHNICIAN, Role.INSTRUCTOR):
            return self.filter(darkroom=member.darkroom_id)
        return self.filter(member=member)

    def through(self, vessel: uuid.UUID) -> Self:
        """Keep those that drew from a vessel, whatever step it stood in."""
        drawn = Movement.objects.filter(source_vessel__public_id=vessel, target=Place.RUN, reverses=None)
        return self.filter(entry__in=drawn.values("entry"))

    def standing(self) -> Self:
        """Leave out what was taken back."""
        return self.filter(entry__reversal=None)


class CheckIn(models.Model):
    """A report: written whatever the chemistry says; ``flags`` name the rules it broke."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="check_ins")
    member = models.ForeignKey(Membership, models.PROTECT, related_name="check_ins")
    line = models.ForeignKey(Line, models.PROTECT, related_name="+")
    plan = models.ForeignKey(TankPlan, models.PROTECT, null=True, related_name="check_ins")
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="check_ins")
    use = models.CharField(max_length=12)
    dilution = models.CharField(max_length=12)
    tank = models.BigIntegerField()
    films = models.JSONField(encoder=DjangoJSONEncoder)
    load = models.BigIntegerField()
    area = models.BigIntegerField()
    cost_minor = models.BigIntegerField()
    flags = models.JSONField(default=list)
    advice = models.JSONField(encoder=DjangoJSONEncoder, default=dict)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
    recorded_at = models.DateTimeField()

    objects: ClassVar[CheckInQuerySet] = CheckInQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (models.CheckConstraint(condition=models.Q(load__gt=0), name="check_in_load_positive"),)


class Reversal(models.Model):
    """An entry taken back, with the reason; its ledger rows are mirrored, never erased."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="reversals")
    target = models.OneToOneField(Entry, models.PROTECT, related_name="reversal")
    reason = models.CharField(max_length=500)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
