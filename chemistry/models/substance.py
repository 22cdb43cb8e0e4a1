"""What a darkroom says of a substance instead of the table that ships: versions, each with its source."""

import uuid
from typing import ClassVar, Self

from django.db import models

from accounts.models import Darkroom, Entry, Membership


class SubstanceOverrideQuerySet(models.QuerySet["SubstanceOverride"]):
    """Filters on overrides."""

    def current(self) -> Self:
        """Keep what counts now: the latest version of each CAS number that is not withdrawn."""
        later = SubstanceOverride.objects.filter(
            darkroom=models.OuterRef("darkroom"), cas=models.OuterRef("cas"), number__gt=models.OuterRef("number")
        )
        return self.filter(~models.Exists(later), withdrawn=False)


class SubstanceOverride(models.Model):
    """Cells that stand in place of the table's, from one source; the next version replaces all of them."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="substance_overrides")
    cas = models.CharField(max_length=12)
    number = models.PositiveIntegerField()
    cells = models.JSONField()
    source = models.CharField(max_length=300)
    reason = models.CharField(max_length=500)
    withdrawn = models.BooleanField(default=False)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[SubstanceOverrideQuerySet] = SubstanceOverrideQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["darkroom", "cas", "number"], name="substance_override_version_once"),
        )
