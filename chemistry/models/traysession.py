"""Trays filled once for a group, and a tally of sheets."""

import uuid

from django.db import models

from accounts.models import Darkroom, Entry, Membership
from chemistry.models.line import Line, StepRole
from chemistry.models.vessel import Vessel


class TraySession(models.Model):
    """A printing session: opened with filled trays, tallied, closed with what was poured back or away."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="tray_sessions")
    line = models.ForeignKey(Line, models.PROTECT, null=True, related_name="+")
    group = models.CharField(max_length=120)
    opened_by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)
    flags = models.JSONField(default=list)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)


class SessionTray(models.Model):
    """A tray of a session and what it does."""

    session = models.ForeignKey(TraySession, models.PROTECT, related_name="trays")
    role = models.CharField(max_length=12, choices=StepRole.choices)
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="+")

    class Meta:
        constraints = (models.UniqueConstraint(fields=["session", "role"], name="session_tray_role_once"),)


class Tally(models.Model):
    """So many sheets of one size put through the trays."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(TraySession, models.PROTECT, related_name="tallies")
    format = models.CharField(max_length=40)
    count = models.PositiveIntegerField()
    load = models.BigIntegerField()
    area = models.BigIntegerField()
    cost_minor = models.BigIntegerField()
    member = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    flags = models.JSONField(default=list)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
