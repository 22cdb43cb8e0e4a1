"""Where the spent liquid of a formula goes at one strength, set once by the technician."""

import uuid

from django.db import models

from accounts.models import Darkroom
from chemistry.models.formula import Formula
from waste.models import Stream


class Destination(models.Model):
    """The preset of a formula at one dilution: the stream whose open container takes it unless somebody says other."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="destinations")
    formula = models.ForeignKey(Formula, models.PROTECT, related_name="destinations")
    dilution = models.CharField(max_length=12)
    stream = models.ForeignKey(Stream, models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "formula", "dilution"], name="destination_once"),)
