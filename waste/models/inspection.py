"""The weekly look at a container."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models

from accounts.models import Entry, Membership
from waste.models.container import Container


class InspectionQuerySet(models.QuerySet["Inspection"]):
    """Filters on inspections."""

    def last_of(self, container: Container, at: datetime) -> "Inspection | None":
        """Return the last look at a container up to an instant, or None before the first."""
        return self.filter(container=container, occurred_at__lte=at).order_by("-occurred_at", "-id").first()


class Inspection(models.Model):
    """What somebody found: each True where it was in order. A mistaken one is followed by another, never changed."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    container = models.ForeignKey(Container, models.PROTECT, related_name="inspections")
    lid = models.BooleanField()
    leak = models.BooleanField()
    label = models.BooleanField()
    bund = models.BooleanField()
    note = models.CharField(max_length=500, blank=True)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[InspectionQuerySet] = InspectionQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        indexes = (models.Index(fields=["container", "occurred_at"], name="inspection_of_container"),)

    @property
    def sound(self) -> bool:
        """Tell whether all was in order."""
        return self.lid and self.leak and self.label and self.bund
