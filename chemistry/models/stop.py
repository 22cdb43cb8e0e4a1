"""A vessel taken out of use at once, and the qualified person's word that it may be used again."""

import uuid

from django.db import models

from accounts.models import Entry, Membership
from chemistry.models.vessel import Vessel


class StopKind(models.TextChoices):
    """Why a vessel stands still. A failed test is never lifted; a passed one afterwards does not undo it."""

    DOUBT = "doubt"
    FAILED_TEST = "failed_test"
    WITHDRAWN = "withdrawn"
    RULE_BROKEN = "rule_broken"


class Stop(models.Model):
    """Anyone may stop a vessel."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="stops")
    kind = models.CharField(max_length=12, choices=StopKind.choices)
    reason = models.CharField(max_length=500)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()


class Lifting(models.Model):
    """Only the qualified lift a stop, with a reason."""

    append_only = True

    stop = models.OneToOneField(Stop, models.PROTECT, related_name="lifting")
    reason = models.CharField(max_length=500)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
