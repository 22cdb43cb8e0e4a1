"""Weeks in which nobody works: left out where use is averaged, passed over where it is looked ahead."""

import uuid
from typing import ClassVar, Self

from django.db import models

from accounts.models import Darkroom


class TermBreakQuerySet(models.QuerySet["TermBreak"]):
    """Filters on breaks."""

    def standing(self) -> Self:
        """Leave out those taken back."""
        return self.filter(cancelled_at=None)


class TermBreak(models.Model):
    """A break between terms, from its first day to its last, both within."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="term_breaks")
    name = models.CharField(max_length=120)
    first_day = models.DateField()
    last_day = models.DateField()
    cancelled_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=1)

    objects: ClassVar[TermBreakQuerySet] = TermBreakQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="term_break_runs_forwards"
            ),
        )
