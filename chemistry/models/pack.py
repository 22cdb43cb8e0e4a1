"""One sealed unit received."""

import uuid

from django.db import models

from accounts.models import Darkroom, Entry
from chemistry.models.batch import Batch
from chemistry.models.formula import FormulaVersion


class PackState(models.TextChoices):
    """A pack is opened once and whole."""

    SEALED = "sealed"
    OPENED = "opened"
    DISCARDED = "discarded"


class Pack(models.Model):
    """A packet or bottle as bought. ``makes`` is in 0.1 mL: stock made of a powder, or concentrate held."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=12)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="packs")
    formula_version = models.ForeignKey(FormulaVersion, models.PROTECT, related_name="packs")
    lot = models.CharField(max_length=60, blank=True)
    supplier = models.CharField(max_length=120, blank=True)
    makes = models.BigIntegerField()
    price_minor = models.BigIntegerField()
    received_at = models.DateTimeField()
    best_before = models.DateField(null=True, blank=True)
    sheet_revision = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=PackState.choices, default=PackState.SEALED)
    batch = models.ForeignKey(Batch, models.PROTECT, null=True, related_name="packs")
    discard_reason = models.CharField(max_length=500, blank=True)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["darkroom", "code"], name="pack_code_once"),
            models.CheckConstraint(condition=models.Q(makes__gt=0), name="pack_makes_positive"),
            models.CheckConstraint(condition=models.Q(price_minor__gte=0), name="pack_price_not_negative"),
        )
        indexes = (
            models.Index(fields=["best_before"], condition=models.Q(state="sealed"), name="pack_dated"),
            models.Index(fields=["sheet_revision"], condition=models.Q(state="sealed"), name="pack_by_sheet"),
        )
