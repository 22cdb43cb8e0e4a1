"""The vessels a process uses now, set up once by the technician."""

import uuid

from django.db import models

from accounts.models import Darkroom
from chemistry.models.vessel import Vessel
from waste.models import Container


class StepRole(models.TextChoices):
    """What a vessel does in a line, in the order liquids follow."""

    DEVELOPER = "developer"
    STOP = "stop"
    FIXER_1 = "fixer_1"
    FIXER_2 = "fixer_2"
    WASHING_AID = "washing_aid"


class Line(models.Model):
    """A named sequence of vessels for one process and for film or paper."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="lines")
    name = models.CharField(max_length=120)
    process = models.CharField(max_length=24)
    film_or_paper = models.CharField(max_length=5)
    retired_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "name"], name="line_name_once"),)


class LineStep(models.Model):
    """One vessel of a line and the container its spent liquid goes to."""

    line = models.ForeignKey(Line, models.CASCADE, related_name="steps")
    role = models.CharField(max_length=12, choices=StepRole.choices)
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="+")
    container = models.ForeignKey(Container, models.PROTECT, null=True, related_name="+")
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("position",)
        constraints = (models.UniqueConstraint(fields=["line", "role"], name="line_role_once"),)
