"""What must leave the inbox: one row for each notice and way out. This table is the queue; a broker only hints."""

import uuid
from typing import ClassVar, Self

from django.db import models
from django.db.models import Q

from accounts.models.membership import Membership
from accounts.models.notice import Notice


class Channel(models.TextChoices):
    """A way out of the inbox."""

    EMAIL = "email"
    WEBHOOK = "webhook"


class DeliveryState(models.TextChoices):
    """Where a delivery stands. ``bundled`` goes out in the digest of another; ``dropped`` is no longer wanted."""

    WAITING = "waiting"
    CLAIMED = "claimed"
    FAILED = "failed"
    BUNDLED = "bundled"
    SENT = "sent"
    PARKED = "parked"
    DROPPED = "dropped"


OPEN = (DeliveryState.WAITING, DeliveryState.CLAIMED, DeliveryState.FAILED)


class DeliveryQuerySet(models.QuerySet["Delivery"]):
    """Filters on deliveries."""

    def with_reader(self) -> Self:
        """Bring along what is needed to address and word one."""
        return self.select_related("notice__to__person", "notice__to__preference", "notice__darkroom__webhook")

    def room_in_digest(self, to: Membership) -> Self:
        """Keep what waits for one person's daily mail and belongs to none yet."""
        alone = self.filter(state=DeliveryState.WAITING, channel=Channel.EMAIL, bundle=None)
        return alone.filter(notice__to=to, notice__safety=False)


class Delivery(models.Model):
    """One notice on its way out by one channel.

    ``due_at`` is when it may next be taken: while claimed, the end of the lease. ``fence`` counts the claims, so that a
    worker whose lease ran out cannot settle what another has taken since. ``event`` tells a webhook's event apart,
    since what many people are told is one event; mail has none.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    notice = models.ForeignKey(Notice, models.PROTECT, related_name="deliveries")
    channel = models.CharField(max_length=8, choices=Channel.choices)
    event = models.CharField(max_length=160, null=True, unique=True)  # noqa: DJ001 - NULLs do not clash, blanks would
    state = models.CharField(max_length=8, choices=DeliveryState.choices, default=DeliveryState.WAITING)
    due_at = models.DateTimeField()
    tries = models.PositiveSmallIntegerField(default=0)
    fence = models.PositiveIntegerField(default=0)
    bundle = models.ForeignKey("self", models.PROTECT, null=True, related_name="bundled")
    error = models.CharField(max_length=300, blank=True)
    sent_at = models.DateTimeField(null=True)

    objects: ClassVar[models.Manager["Delivery"]] = DeliveryQuerySet.as_manager()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["notice", "channel"], name="delivery_once_per_channel"),)
        indexes = (
            models.Index(fields=["due_at", "id"], condition=Q(state__in=OPEN), name="delivery_open"),
            models.Index(fields=["id"], condition=Q(state=DeliveryState.PARKED), name="delivery_parked"),
        )

    @property
    def message_id(self) -> str:
        """Return the Message-ID, the same at every try (RFC 5322 3.6.4), so that a repeat can be told."""
        return f"<{self.public_id}@notices.darkroom.invalid>"
