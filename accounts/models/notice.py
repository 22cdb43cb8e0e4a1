"""Something somebody must be told, once: the inbox row."""

import uuid

from django.db import models

from accounts.models.darkroom import Darkroom
from accounts.models.membership import Membership


class Notice(models.Model):
    """One thing told to one person for one due day; the unique constraint makes it exactly once."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="notices")
    to = models.ForeignKey(Membership, models.PROTECT, related_name="notices")
    kind = models.CharField(max_length=40)
    subject = models.CharField(max_length=80)
    due_on = models.DateField()
    text = models.CharField(max_length=1000)
    path = models.CharField(max_length=200, blank=True)
    safety = models.BooleanField(default=False)
    posted_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["to", "kind", "subject", "due_on"], name="notice_once_per_person_and_day"),
        )
