"""The volume ledger, in 0.1 mL: every row goes from one place to another, so mass balance is zero by construction."""

from django.db import models

from accounts.models import Entry
from chemistry.models.batch import Batch
from chemistry.models.vessel import Vessel
from waste.models import DrainRelease, Fill


class Place(models.TextChoices):
    """Where liquid can be. ``run`` is a tank or tray under way; it is empty again when its command ends."""

    MADE = "made"
    WATER = "water"
    VESSEL = "vessel"
    RUN = "run"
    CONTAINER = "container"
    DRAIN = "drain"
    CARRIED_OUT = "carried_out"
    SPILLED = "spilled"
    EVAPORATED = "evaporated"
    UNACCOUNTED = "unaccounted"


class Movement(models.Model):
    """So much liquid from one place to another. ``*_basis`` is what the capacity basis of a vessel changed by.

    ``sets_level``: the vessel's level was known for sure after it.
    """

    append_only = True

    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
    volume = models.BigIntegerField()
    source = models.CharField(max_length=12, choices=Place.choices)
    source_vessel = models.ForeignKey(Vessel, models.PROTECT, null=True, related_name="movements_out")
    source_batch = models.ForeignKey(Batch, models.PROTECT, null=True, related_name="movements_out")
    source_basis = models.BigIntegerField(default=0)
    target = models.CharField(max_length=12, choices=Place.choices)
    target_vessel = models.ForeignKey(Vessel, models.PROTECT, null=True, related_name="movements_in")
    target_batch = models.ForeignKey(Batch, models.PROTECT, null=True, related_name="movements_in")
    target_basis = models.BigIntegerField(default=0)
    fill = models.ForeignKey(Fill, models.PROTECT, null=True, related_name="+")
    release = models.ForeignKey(DrainRelease, models.PROTECT, null=True, related_name="+")
    sets_level = models.BooleanField(default=False)
    reverses = models.OneToOneField("self", models.PROTECT, null=True, related_name="reversed_by")

    class Meta:
        constraints = (
            models.CheckConstraint(condition=models.Q(volume__gt=0), name="movement_volume_positive"),
            models.CheckConstraint(
                condition=(
                    models.Q(source=Place.VESSEL, source_vessel__isnull=False)
                    | (~models.Q(source=Place.VESSEL) & models.Q(source_vessel=None))
                ),
                name="movement_source_vessel_named",
            ),
            models.CheckConstraint(
                condition=(
                    models.Q(target=Place.VESSEL, target_vessel__isnull=False)
                    | (~models.Q(target=Place.VESSEL) & models.Q(target_vessel=None))
                ),
                name="movement_target_vessel_named",
            ),
        )
