"""What may go down the drain here, by whose word, and what did."""

import uuid
from datetime import date
from typing import ClassVar, Self

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from accounts.models import Darkroom, Entry, Membership
from waste.models.stream import Stream


class DrainRuleQuerySet(models.QuerySet["DrainRule"]):
    """Filters on drain rules."""

    def of(self, darkroom: Darkroom) -> Self:
        """Keep those of one darkroom, each with all that an answer shows."""
        return self.filter(darkroom=darkroom).select_related("by", "entry")

    def on(self, darkroom: Darkroom, day: date) -> "DrainRule | None":
        """Return the rule in force on a local day: the last written of those begun; None where that one has ended."""
        begun = self.filter(darkroom=darkroom, valid_from__lte=day).order_by("-valid_from", "-number").first()
        return begun if begun and (begun.valid_until is None or begun.valid_until >= day) else None


class DrainRule(models.Model):
    """One version of what the sewer's keeper allows. Volumes in 0.1 mL for a local day.

    ``streams`` are codes of streams; ``dilution`` is the least number of times the volume that it must make with the
    water that goes along; ``limits`` are ``{"cas", "name", "mg_per_l"}``, decimals as text, at the point of discharge.
    """

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="drain_rules")
    number = models.PositiveIntegerField()
    approved_by = models.CharField(max_length=200)
    reference = models.CharField(max_length=200)
    streams = models.JSONField(default=list)
    daily_volume = models.BigIntegerField()
    ph_low = models.DecimalField(max_digits=4, decimal_places=2)
    ph_high = models.DecimalField(max_digits=4, decimal_places=2)
    dilution = models.PositiveIntegerField(default=1)
    limits = models.JSONField(default=list)
    note = models.CharField(max_length=500, blank=True)
    valid_from = models.DateField()
    valid_until = models.DateField(null=True)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    objects: ClassVar[DrainRuleQuerySet] = DrainRuleQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["darkroom", "number"], name="drain_rule_once"),
            models.CheckConstraint(
                condition=models.Q(daily_volume__gt=0, dilution__gte=1, ph_low__lte=models.F("ph_high")),
                name="drain_rule_possible",
            ),
            models.CheckConstraint(
                condition=models.Q(valid_until=None) | models.Q(valid_until__gte=models.F("valid_from")),
                name="drain_rule_ends_after_it_begins",
            ),
        )


class DrainReleaseQuerySet(models.QuerySet["DrainRelease"]):
    """Filters on releases."""

    def of(self, darkroom: Darkroom) -> Self:
        """Keep those of one darkroom, each with all that an answer shows."""
        shown = ("rule", "stream", "entry__by", "entry__on_behalf_of", "reverses", "reversed_by")
        return self.filter(darkroom=darkroom).select_related(*shown)


class DrainRelease(models.Model):
    """So much went down the drain, in 0.1 mL, with so much water along; a correction is the negative row.

    No ``rule``: nothing allowed it. ``day`` is the local day it counts for, ``computed`` the figures of that moment.
    """

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="drain_releases")
    rule = models.ForeignKey(DrainRule, models.PROTECT, null=True, related_name="releases")
    stream = models.ForeignKey(Stream, models.PROTECT, null=True, related_name="drain_releases")
    volume = models.BigIntegerField()
    water = models.BigIntegerField(default=0)
    ph = models.DecimalField(max_digits=4, decimal_places=2, null=True)
    origin = models.JSONField(encoder=DjangoJSONEncoder)
    listed = models.JSONField(default=dict)
    computed = models.JSONField(default=dict)
    flags = models.JSONField(default=list)
    day = models.DateField()
    reverses = models.OneToOneField("self", models.PROTECT, null=True, related_name="reversed_by")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[DrainReleaseQuerySet] = DrainReleaseQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(volume__gt=0, reverses=None) | models.Q(volume__lt=0, reverses__isnull=False),
                name="drain_release_positive_or_reversal",
            ),
        )
        indexes = (models.Index(fields=["darkroom", "day"], name="drain_release_of_day"),)
