"""Secret addresses of calendar feeds; only a digest is kept."""

import uuid

from django.db import models

from accounts.models.membership import Membership


class Feed(models.Model):
    """A calendar address of one member, good until it is ended or the member leaves."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    membership = models.ForeignKey(Membership, models.PROTECT, related_name="feeds")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
