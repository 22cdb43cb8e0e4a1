"""The vessel waste waits in."""

import uuid
from datetime import datetime
from typing import ClassVar, Self

from django.db import models

from accounts.models import Darkroom, Entry, Membership
from waste.models.stream import Stream


class ContainerState(models.TextChoices):
    """``quarantined``: something went in that should not have; nothing more goes in until it is cleared.

    ``collected``: the container itself was taken away, or is empty and out of use until it is washed or reopened.
    """

    OPEN = "open"
    CLOSED = "closed"
    QUARANTINED = "quarantined"
    COLLECTED = "collected"


class ContainerMaterial(models.TextChoices):
    """What holds photographic waste; metal does not: acid and fixer eat it, and aluminium gives off hydrogen."""

    HDPE = "hdpe"
    PP = "pp"
    PET = "pet"
    GLASS = "glass"


class ContainerQuerySet(models.QuerySet["Container"]):
    """Filters on containers."""

    def of(self, darkroom: Darkroom) -> Self:
        """Keep those of one darkroom, each with its stream, which every answer and rule needs."""
        return self.filter(darkroom=darkroom).select_related("stream")

    def taking(self, volume: int) -> Self:
        """Keep the open ones that take so much, in 0.1 mL, without going over their working fill."""
        return self.filter(state=ContainerState.OPEN, contents__lte=models.F("working_fill") - volume)


class Container(models.Model):
    """A waste container. Volumes in 0.1 mL; ``contents`` is a running total, provable from fills and collections.

    ``held`` are the kinds of liquid it holds or last held, since it was last washed: an unwashed can remembers.
    ``began_at`` is when the first of what is in it now went in: read ``began``.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=12)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="containers")
    stream = models.ForeignKey(Stream, models.PROTECT, related_name="containers")
    name = models.CharField(max_length=120)
    material = models.CharField(max_length=20, choices=ContainerMaterial.choices)
    location = models.CharField(max_length=120, blank=True)
    rated = models.BigIntegerField()
    working_fill = models.BigIntegerField()
    contents = models.BigIntegerField(default=0)
    held = models.JSONField(default=list, blank=True)
    began_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=12, choices=ContainerState.choices, default=ContainerState.OPEN)
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects: ClassVar[ContainerQuerySet] = ContainerQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["darkroom", "code"], name="container_code_once"),
            models.CheckConstraint(condition=models.Q(contents__gte=0), name="container_contents_not_negative"),
            models.CheckConstraint(
                condition=models.Q(working_fill__gt=0, working_fill__lte=models.F("rated")),
                name="container_working_fill_within_rated",
            ),
        )
        indexes = (
            models.Index(fields=["began_at"], condition=models.Q(contents__gt=0), name="container_began"),
            models.Index(
                fields=["darkroom"],
                condition=models.Q(state="open", contents__gte=models.F("working_fill") / 2),
                name="container_half_full",
            ),
        )

    @property
    def began(self) -> datetime | None:
        """Tell since when something has been in it; None while it is empty."""
        return self.began_at if self.contents else None

    @property
    def room(self) -> int:
        """What still goes in before the working fill is reached, in 0.1 mL; below zero when overfull."""
        return self.working_fill - self.contents


class ContainerStepQuerySet(models.QuerySet["ContainerStep"]):
    """Filters on changes of state."""

    def last_by(self, container: Container, at: datetime) -> "ContainerStep | None":
        """Return the change that decided the state a container was in at an instant, or None before the first."""
        return self.filter(container=container, occurred_at__lte=at).order_by("-occurred_at", "-id").first()


class ContainerStep(models.Model):
    """One change of a container's state, with the reason: opened, closed, reopened, quarantined, cleared, collected."""

    append_only = True

    container = models.ForeignKey(Container, models.PROTECT, related_name="steps")
    was = models.CharField(max_length=12, blank=True)
    became = models.CharField(max_length=12, choices=ContainerState.choices)
    reason = models.CharField(max_length=500, blank=True)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[ContainerStepQuerySet] = ContainerStepQuerySet.as_manager()  # type: ignore[assignment]


class Washing(models.Model):
    """An empty container rinsed out: from here on it remembers nothing. ``how`` says with what, and where that went."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    container = models.ForeignKey(Container, models.PROTECT, related_name="washings")
    how = models.CharField(max_length=500)
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
