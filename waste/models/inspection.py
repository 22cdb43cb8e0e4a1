"""The weekly look at a container."""

import uuid

from django.db import models

from accounts.models import Entry, Membership
from waste.models.container import Container


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

    class Meta:
        indexes = (models.Index(fields=["container", "occurred_at"], name="inspection_of_container"),)

    @property
    def sound(self) -> bool:
        """Tell whether all was in order."""
        return self.lid and self.leak and self.label and self.bund
