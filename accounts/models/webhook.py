"""Where a darkroom's events are sent to, for a chat or a program of its own."""

import uuid

from django.db import models

from accounts.models.darkroom import Darkroom


class Webhook(models.Model):
    """One address per darkroom. Its secret is derived from ``public_id`` and ``generation`` and stored nowhere."""

    darkroom = models.OneToOneField(Darkroom, models.PROTECT, related_name="webhook")
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    url = models.URLField(max_length=500)
    generation = models.PositiveIntegerField(default=1)
    rotated_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
