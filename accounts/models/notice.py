"""Something somebody must be told, once: the inbox row."""

import uuid
from datetime import datetime
from typing import ClassVar, Self

from django.db import models

from accounts.models.darkroom import Darkroom
from accounts.models.membership import Membership

LONGEST_TEXT = 1000


class NoticeQuerySet(models.QuerySet["Notice"]):
    """Filters on notices."""

    def open(self, at: datetime) -> Self:
        """Keep what still asks for something at an instant: neither done nor put off until later."""
        return self.filter(models.Q(snoozed_until=None) | models.Q(snoozed_until__lte=at), done_at=None)


class Notice(models.Model):
    """One thing told to one person for one due day; the unique constraint makes it exactly once."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="notices")
    to = models.ForeignKey(Membership, models.PROTECT, related_name="notices")
    kind = models.CharField(max_length=40)
    subject = models.CharField(max_length=80)
    due_on = models.DateField()
    text = models.CharField(max_length=LONGEST_TEXT)
    path = models.CharField(max_length=200, blank=True)
    safety = models.BooleanField(default=False)
    posted_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    snoozed_until = models.DateTimeField(null=True, blank=True)

    objects: ClassVar[NoticeQuerySet] = NoticeQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["to", "kind", "subject", "due_on"], name="notice_once_per_person_and_day"),
        )
        indexes = (
            models.Index(fields=["darkroom", "path"], condition=models.Q(kind="recall"), name="notice_of_recall"),
        )


class NoticeMute(models.Model):
    """A kind that somebody does not want to be told of; what is a matter of safety is told all the same."""

    member = models.ForeignKey(Membership, models.PROTECT, related_name="mutes")
    kind = models.CharField(max_length=40)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["member", "kind"], name="notice_mute_once"),)


class NoticeLook(models.Model):
    """The local day on which a darkroom was last looked through for a kind that no single statement finds."""

    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="+")
    kind = models.CharField(max_length=40)
    day = models.DateField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "kind"], name="notice_look_once"),)


class NoticeLead(models.Model):
    """How early a darkroom wants to be told of a kind, in the kind's own unit."""

    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="notice_leads")
    kind = models.CharField(max_length=40)
    lead = models.PositiveSmallIntegerField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "kind"], name="notice_lead_once"),)
