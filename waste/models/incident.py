"""What should not have happened with waste, and how it ended."""

import uuid
from typing import ClassVar, Self

from django.db import models

from accounts.models import Darkroom, Entry, Membership
from waste.models.container import Container
from waste.models.fill import Fill


class IncidentKind(models.TextChoices):
    """What it was; the first five come from a pour that was reported, each may be written down by hand."""

    INCOMPATIBLE = "incompatible"
    WRONG_STREAM = "wrong_stream"
    OVERFULL = "overfull"
    CLOSED = "closed"
    HYPOCHLORITE = "hypochlorite"
    LEAK = "leak"
    SPILL = "spill"
    REACTION = "reaction"
    OTHER = "other"


class IncidentQuerySet(models.QuerySet["Incident"]):
    """Filters on incidents."""

    def of(self, darkroom: Darkroom) -> Self:
        """Keep those of one darkroom, each with all that an answer shows."""
        return self.filter(darkroom=darkroom).select_related("container", "fill", "by", "entry", "resolution__by")

    def unresolved(self) -> Self:
        """Keep those nobody has ended yet."""
        return self.filter(resolution=None)


class Incident(models.Model):
    """Something that went wrong, as told then: ``what`` in words, ``flags`` the rules it broke."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="incidents")
    kind = models.CharField(max_length=16, choices=IncidentKind.choices)
    container = models.ForeignKey(Container, models.PROTECT, null=True, related_name="incidents")
    fill = models.OneToOneField(Fill, models.PROTECT, null=True, related_name="incident")
    what = models.CharField(max_length=1000)
    flags = models.JSONField(default=list)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[IncidentQuerySet] = IncidentQuerySet.as_manager()  # type: ignore[assignment]


class IncidentResolution(models.Model):
    """How an incident ended: what was found and done, by staff. It is written once."""

    append_only = True

    incident = models.OneToOneField(Incident, models.PROTECT, related_name="resolution")
    words = models.CharField(max_length=1000)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
