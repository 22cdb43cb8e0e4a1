"""How waste leaves: pickups and other ways out, what each takes along, and the ledger of what left."""

import uuid
from typing import ClassVar, Self

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from accounts.models import Darkroom, Entry, Membership
from waste.models.container import Container
from waste.models.drain import DrainRelease
from waste.models.fill import Fill


class Way(models.TextChoices):
    """Who takes it: a carrier, we ourselves to a licensed site, or the institution we belong to."""

    COLLECTION = "collection"
    DELIVERY = "delivery"
    HANDOVER = "handover"


class PickupState(models.TextChoices):
    """Planned and prepared ones are open: what is in them cannot be in another."""

    PLANNED = "planned"
    PREPARED = "prepared"
    CONFIRMED = "confirmed"
    CANCELLED = "cancelled"


OPEN_STATES = (PickupState.PLANNED, PickupState.PREPARED)


class PickupQuerySet(models.QuerySet["Pickup"]):
    """Filters on pickups."""

    def of(self, darkroom: Darkroom) -> Self:
        """Keep those of one darkroom, each with all that an answer shows."""
        shown = ("planned_by", "prepared_by", "confirmed_by")
        return self.filter(darkroom=darkroom).select_related(*shown).prefetch_related("items__container__stream")


class Pickup(models.Model):
    """One way out for some containers. ``document_number`` is that of its consignment note, manifest or receipt.

    ``returned_*`` is about the signed copy or the receipt that comes back; ``treatment`` may be a recovery or disposal
    code (R or D and a number) and words.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=12)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="pickups")
    way = models.CharField(max_length=12, choices=Way.choices)
    state = models.CharField(max_length=12, choices=PickupState.choices, default=PickupState.PLANNED)
    planned_for = models.DateField()
    carrier = models.CharField(max_length=120, blank=True)
    carrier_authorisation = models.CharField(max_length=120, blank=True)
    destination = models.CharField(max_length=200, blank=True)
    destination_authorisation = models.CharField(max_length=120, blank=True)
    document_number = models.CharField(max_length=60, blank=True)
    transport = models.CharField(max_length=120, blank=True)
    treatment = models.CharField(max_length=120, blank=True)
    frequency = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=500, blank=True)
    flags = models.JSONField(default=list)
    reason = models.CharField(max_length=500, blank=True)
    planned_by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    prepared_by = models.ForeignKey(Membership, models.PROTECT, null=True, related_name="+")
    prepared_at = models.DateTimeField(null=True)
    confirmed_by = models.ForeignKey(Membership, models.PROTECT, null=True, related_name="+")
    collected_at = models.DateTimeField(null=True)
    returned_due = models.DateField(null=True)
    returned_on = models.DateField(null=True)
    version = models.PositiveIntegerField(default=1)

    objects: ClassVar[PickupQuerySet] = PickupQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["darkroom", "code"], name="pickup_code_once"),
            models.CheckConstraint(
                condition=~models.Q(state=PickupState.CONFIRMED)
                | models.Q(confirmed_by__isnull=False, prepared_by__isnull=False, collected_at__isnull=False),
                name="pickup_confirmed_by_somebody",
            ),
            models.CheckConstraint(
                condition=models.Q(returned_on=None) | models.Q(state=PickupState.CONFIRMED),
                name="pickup_copy_after_confirmation",
            ),
        )
        indexes = (
            models.Index(fields=["returned_due"], name="pickup_copy_due", condition=models.Q(returned_on=None)),
            models.Index(
                fields=["planned_for"], name="pickup_coming", condition=models.Q(state__in=["planned", "prepared"])
            ),
        )


class PickupItem(models.Model):
    """One container of a pickup: all that is in it then (``volume`` None), or a part, in 0.1 mL.

    ``stays``: only the liquid goes and the container is used again. ``open`` follows the pickup's state.
    """

    pickup = models.ForeignKey(Pickup, models.PROTECT, related_name="items")
    container = models.ForeignKey(Container, models.PROTECT, related_name="pickup_items")
    volume = models.BigIntegerField(null=True)
    stays = models.BooleanField(default=False)
    open = models.BooleanField(default=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["pickup", "container"], name="pickup_item_once"),
            models.UniqueConstraint(
                fields=["container"], condition=models.Q(open=True), name="container_in_one_open_pickup"
            ),
            models.CheckConstraint(
                condition=models.Q(volume=None) | models.Q(volume__gt=0), name="pickup_item_volume_positive"
            ),
        )


class CollectionQuerySet(models.QuerySet["Collection"]):
    """Filters on what left containers."""

    def standing(self) -> Self:
        """Keep what nobody took back or corrected."""
        return self.filter(reverses=None, reversed_by=None)


class Collection(models.Model):
    """So much left a container, in 0.1 mL; a correction is a row of the negative volume that names its target.

    It left with a ``pickup``, as a ``fill`` of another container, or down the drain by a ``release``.

    ``found`` is what was there beyond the record (below zero: was missing), so that contents never go below nothing:
    contents = fills - collected + found. ``paper`` keeps what the pickup said then; ``mass_g`` is a weight, where told.
    """

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    pickup = models.ForeignKey(Pickup, models.PROTECT, null=True, related_name="collections")
    fill = models.ForeignKey(Fill, models.PROTECT, null=True, related_name="+")
    release = models.ForeignKey(DrainRelease, models.PROTECT, null=True, related_name="+")
    container = models.ForeignKey(Container, models.PROTECT, related_name="collections")
    volume = models.BigIntegerField()
    found = models.BigIntegerField(default=0)
    mass_g = models.BigIntegerField(null=True)
    was_state = models.CharField(max_length=12)
    paper = models.JSONField(encoder=DjangoJSONEncoder)
    reverses = models.OneToOneField("self", models.PROTECT, null=True, related_name="reversed_by")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[CollectionQuerySet] = CollectionQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(volume__gte=0, reverses=None) | models.Q(volume__lte=0, reverses__isnull=False),
                name="collection_positive_or_reversal",
            ),
            models.CheckConstraint(
                condition=models.Q(pickup__isnull=False, fill=None, release=None)
                | models.Q(pickup=None, fill__isnull=False, release=None)
                | models.Q(pickup=None, fill=None, release__isnull=False),
                name="collection_goes_one_way",
            ),
        )
        indexes = (models.Index(fields=["container", "entry"], name="collection_of_container"),)
