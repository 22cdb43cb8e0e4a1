"""The check of a bath against its criterion."""

import uuid

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from accounts.models import Darkroom, Entry, Membership
from chemistry.models.batch import Batch
from chemistry.models.vessel import Vessel


class BathTest(models.Model):
    """A clip test, clearing test or stop test. ``passed`` is empty where no verdict was possible."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="tests")
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="tests")
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="tests")
    kind = models.CharField(max_length=10)
    passed = models.BooleanField(null=True)
    for_release = models.BooleanField(default=False)
    figures = models.JSONField(encoder=DjangoJSONEncoder)
    why = models.CharField(max_length=500)
    flags = models.JSONField(default=list)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
