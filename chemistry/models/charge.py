"""The load ledger: what film and paper took out of a vessel's strength."""

from django.db import models

from accounts.models import Entry
from chemistry.models.vessel import Vessel


class Charge(models.Model):
    """Load in 1/3600 roll unit and coated area in 0.001 cm², signed: liquid that leaves takes its share along."""

    append_only = True

    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="charges")
    load = models.BigIntegerField()
    area = models.BigIntegerField()
    moved = models.BooleanField(default=False)
    reverses = models.OneToOneField("self", models.PROTECT, null=True, related_name="reversed_by")
