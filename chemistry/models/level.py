"""What is really in a vessel."""

import uuid

from django.db import models

from accounts.models import Entry, Membership
from chemistry.models.vessel import Vessel


class LevelReading(models.Model):
    """A volume read off a scale mark or a balance, in 0.1 mL; ``difference`` went to or came from unaccounted."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    vessel = models.ForeignKey(Vessel, models.PROTECT, related_name="level_readings")
    measured = models.BigIntegerField()
    difference = models.BigIntegerField()
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
