"""A labelled bottle, tank or tray, and what stands in it now."""

import uuid
from datetime import datetime
from typing import ClassVar, Self

from django.db import models

from accounts.models import Darkroom, Membership
from chemistry.models.batch import Batch


class VesselState(models.TextChoices):
    """What a vessel is good for."""

    WAITING = "waiting"
    READY = "ready"
    TEST_FIRST = "test_first"
    STOPPED = "stopped"
    SPENT = "spent"
    EMPTIED = "emptied"


class VesselMaterial(models.TextChoices):
    """What the wall is made of: it decides how much air comes through."""

    GLASS = "glass"
    PET = "pet"
    HDPE = "hdpe"
    STEEL = "steel"
    TRAY = "tray"


class VesselQuerySet(models.QuerySet["Vessel"]):
    """Filters on vessels."""

    def with_contents(self) -> Self:
        """Bring batch, formula and owner along, as every rule about a vessel needs them."""
        return self.select_related("batch__formula_version__formula", "owner")

    def with_held(self, at: datetime) -> Self:
        """Bring along, as ``held``, what tank plans keep of each at an instant, in 0.1 mL."""
        kept = models.Q(holds__released_at=None, holds__until__gt=at)
        return self.annotate(held=models.Sum("holds__volume", filter=kept, default=0))

    def shared(self) -> Self:
        """Leave members' own bottles out."""
        return self.filter(owner=None)


class Vessel(models.Model):
    """A vessel. Volumes in 0.1 mL, load in 1/3600 roll unit, area in 0.001 cm².

    ``contents``, ``basis``, ``load`` and ``area`` are running totals provable from the two ledgers. ``basis`` is the
    volume the present contents were filled with, which the capacity counts on. ``filled_at`` is when the present
    filling began, ``level_known_at`` when its level was last known for sure: a report from before changes no level.
    ``load_limit`` is the load its present filling can do, and ``use_by`` the last day it is trusted: both are kept for
    what looks over all vessels at once, and follow from the rows too. ``oxygen_*`` is the dose in mmol/L taken up
    before the vessel was last closed, at ``closed_at``.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=12)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="vessels")
    name = models.CharField(max_length=120)
    nominal = models.BigIntegerField()
    material = models.CharField(max_length=10, choices=VesselMaterial.choices)
    owner = models.ForeignKey(Membership, models.PROTECT, null=True, blank=True, related_name="+")
    leave_by = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=VesselState.choices, default=VesselState.EMPTIED)
    batch = models.ForeignKey(Batch, models.PROTECT, null=True, related_name="vessels")
    use = models.CharField(max_length=12, blank=True)
    film_or_paper = models.CharField(max_length=5, blank=True)
    contents = models.BigIntegerField(default=0)
    basis = models.BigIntegerField(default=0)
    load = models.BigIntegerField(default=0)
    area = models.BigIntegerField(default=0)
    load_limit = models.BigIntegerField(null=True)
    replenish_owed = models.BigIntegerField(default=0)
    filled_at = models.DateTimeField(null=True)
    level_known_at = models.DateTimeField(null=True)
    made_at = models.DateTimeField(null=True)
    part_full_since = models.DateTimeField(null=True)
    last_pass_at = models.DateTimeField(null=True)
    last_strip_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    oxygen_low = models.DecimalField(max_digits=10, decimal_places=4, default=0)
    oxygen_high = models.DecimalField(max_digits=10, decimal_places=4, default=0)
    worst_left_at_pass = models.DecimalField(max_digits=5, decimal_places=4, default=1)
    use_by = models.DateField(null=True)
    use_by_rule = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects: ClassVar[models.Manager["Vessel"]] = VesselQuerySet.as_manager()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["darkroom", "code"], name="vessel_code_once"),
            models.CheckConstraint(
                condition=models.Q(contents__gte=0, basis__gte=0, load__gte=0, area__gte=0),
                name="vessel_totals_not_negative",
            ),
            models.CheckConstraint(condition=models.Q(nominal__gt=0), name="vessel_nominal_positive"),
        )
        indexes = (
            models.Index(fields=["use_by"], condition=models.Q(contents__gt=0), name="vessel_dated"),
            models.Index(
                fields=["darkroom"],
                condition=models.Q(contents__gt=0, load__gte=models.F("load_limit") / 2),
                name="vessel_half_used",
            ),
        )
