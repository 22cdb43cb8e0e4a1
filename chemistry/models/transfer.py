"""Liquid moved on purpose between vessels, or out of one."""

import uuid

from django.db import models

from accounts.models import Darkroom, Entry, Membership
from chemistry.models.vessel import Vessel


class TransferKind(models.TextChoices):
    """What was done."""

    DECANT = "decant"
    TOP_UP = "top_up"
    COMBINE = "combine"
    POUR_BACK = "pour_back"
    EMPTY = "empty"
    OPEN = "open"
    DILUTE = "dilute"
    REPLENISH = "replenish"
    SPILL = "spill"
    DRAIN = "drain"


class Transfer(models.Model):
    """One act of moving liquid, in 0.1 mL; the movements carry the account."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="transfers")
    kind = models.CharField(max_length=10, choices=TransferKind.choices)
    source = models.ForeignKey(Vessel, models.PROTECT, null=True, related_name="+")
    target = models.ForeignKey(Vessel, models.PROTECT, null=True, related_name="+")
    volume = models.BigIntegerField()
    flags = models.JSONField(default=list)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
