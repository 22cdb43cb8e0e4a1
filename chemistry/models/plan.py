"""Before pouring: what a tank needs, and what is kept for it for a while."""

import uuid
from datetime import datetime
from typing import ClassVar, Self

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from accounts.acts import Role
from accounts.models import Darkroom, Entry, Membership
from chemistry.models.line import Line
from chemistry.models.vessel import Vessel


class TankPlanQuerySet(models.QuerySet["TankPlan"]):
    """Filters on tank plans."""

    def visible_to(self, member: Membership) -> Self:
        """Keep a person's own; technicians and instructors see all of the darkroom."""
        if member.holds(Role.TECHNICIAN, Role.INSTRUCTOR):
            return self.filter(darkroom=member.darkroom_id)
        return self.filter(by=member)


class TankPlan(models.Model):
    """Advice given for one tank, stored as it was given and never rewritten."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="tank_plans")
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    line = models.ForeignKey(Line, models.PROTECT, related_name="+")
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="+")
    use = models.CharField(max_length=12)
    dilution = models.CharField(max_length=12)
    tank = models.BigIntegerField()
    films = models.JSONField(encoder=DjangoJSONEncoder)
    load = models.BigIntegerField()
    advice = models.JSONField(encoder=DjangoJSONEncoder)
    held_until = models.DateTimeField(null=True)
    used_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[TankPlanQuerySet] = TankPlanQuerySet.as_manager()  # type: ignore[assignment]


class HoldQuerySet(models.QuerySet["Hold"]):
    """Filters on what is kept."""

    def standing(self, at: datetime) -> Self:
        """Keep what still counts at an instant: neither released nor run out."""
        return self.filter(released_at=None, until__gt=at)


class Hold(models.Model):
    """Volume (0.1 mL) and load (1/3600 roll unit) of a vessel kept for a plan until a stated time."""

    plan = models.ForeignKey(TankPlan, models.PROTECT, related_name="holds")
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="holds")
    volume = models.BigIntegerField()
    load = models.BigIntegerField()
    until = models.DateTimeField()
    released_at = models.DateTimeField(null=True)

    objects: ClassVar[HoldQuerySet] = HoldQuerySet.as_manager()  # type: ignore[assignment]
