"""What one mixing event made."""

import uuid

from django.db import models

from accounts.models import Darkroom, Entry, Membership
from chemistry.models.formula import FormulaVersion


class Origin(models.TextChoices):
    """How the liquid came to be: mixed from powder, opened as concentrate, diluted, or blended from two batches."""

    MIXED = "mixed"
    OPENED = "opened"
    DILUTED = "diluted"
    BLENDED = "blended"


class BatchState(models.TextChoices):
    """The states of a batch; ``MOVES`` says which follows which."""

    REQUESTED = "requested"
    APPROVED = "approved"
    MIXING = "mixing"
    RESTING = "resting"
    MIXED = "mixed"
    RELEASED = "released"
    REJECTED = "rejected"
    CANCELLED = "cancelled"
    WITHDRAWN = "withdrawn"


_S = BatchState
MOVES: dict[str, frozenset[str]] = {
    _S.REQUESTED: frozenset({_S.APPROVED, _S.REJECTED, _S.CANCELLED}),
    _S.APPROVED: frozenset({_S.MIXING, _S.REJECTED, _S.CANCELLED}),
    _S.MIXING: frozenset({_S.RESTING, _S.MIXED, _S.WITHDRAWN}),
    _S.RESTING: frozenset({_S.MIXED, _S.RELEASED, _S.WITHDRAWN}),
    _S.MIXED: frozenset({_S.RELEASED, _S.WITHDRAWN}),
    _S.RELEASED: frozenset({_S.WITHDRAWN}),
}


class Batch(models.Model):
    """One mixing event. ``made`` in 0.1 mL, ``cost_minor`` what went into it, ``dilution`` its strength."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=12)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="batches")
    formula_version = models.ForeignKey(FormulaVersion, models.PROTECT, related_name="batches")
    origin = models.CharField(max_length=8, choices=Origin.choices, default=Origin.MIXED)
    dilution = models.CharField(max_length=12, default="stock")
    state = models.CharField(max_length=10, choices=BatchState.choices, default=BatchState.REQUESTED)
    requested_by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    approved_by = models.ForeignKey(Membership, models.PROTECT, null=True, related_name="+")
    mixed_by = models.ForeignKey(Membership, models.PROTECT, null=True, related_name="+")
    released_by = models.ForeignKey(Membership, models.PROTECT, null=True, related_name="+")
    wanted = models.BigIntegerField(default=0)
    made = models.BigIntegerField(default=0)
    cost_minor = models.BigIntegerField(default=0)
    mixing_started_at = models.DateTimeField(null=True)
    mixed_at = models.DateTimeField(null=True)
    rest_until = models.DateTimeField(null=True)
    released_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    release_density = models.DecimalField(max_digits=4, decimal_places=2, null=True)
    fresh_clearing_s = models.PositiveIntegerField(null=True)
    fresh_clearing_film = models.CharField(max_length=60, blank=True)
    flags = models.JSONField(default=list)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["darkroom", "code"], name="batch_code_once"),
            models.CheckConstraint(condition=models.Q(made__gte=0), name="batch_made_not_negative"),
        )
        indexes = (
            models.Index(
                fields=["rest_until"],
                condition=models.Q(state__in=["requested", "resting", "mixed"]),
                name="batch_waiting",
            ),
            models.Index(fields=["mixing_started_at"], name="batch_begun"),
        )


class BatchStep(models.Model):
    """One change of a batch's state."""

    append_only = True

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="steps")
    was = models.CharField(max_length=10, blank=True)
    became = models.CharField(max_length=10)
    note = models.CharField(max_length=500, blank=True)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
