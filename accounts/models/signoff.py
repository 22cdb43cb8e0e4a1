"""Topics people are trained in, and the append-only record that they are."""

import uuid
from collections.abc import Iterable
from datetime import datetime
from typing import ClassVar, Self

from django.db import models

from accounts.acts import Role
from accounts.models.darkroom import Darkroom
from accounts.models.entry import Entry
from accounts.models.membership import Membership


class TopicQuerySet(models.QuerySet["Topic"]):
    """Filters on topics."""

    def in_use(self) -> Self:
        return self.filter(retired_at=None)

    def with_text(self) -> Self:
        """Bring the wording of the current version along, as ``text``."""
        current = TopicVersion.objects.filter(topic=models.OuterRef("pk"), number=models.OuterRef("number"))
        return self.annotate(text=models.Subquery(current.values("text")))


class Topic(models.Model):
    """Something a person is trained in, known by its code, such as ``powder-handling``."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="topics")
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=120)
    valid_months = models.PositiveSmallIntegerField()
    number = models.PositiveSmallIntegerField(default=1)
    retired_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects: ClassVar[models.Manager["Topic"]] = TopicQuerySet.as_manager()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "code"], name="topic_code_once"),)


class TopicVersion(models.Model):
    """The wording and validity of a topic as it stood; sign-offs name the version they were given for.

    From ``stale_from`` on, sign-offs given for earlier versions no longer count; None: they count until their own date.
    """

    append_only = True

    topic = models.ForeignKey(Topic, models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=120)
    text = models.TextField(max_length=4000, blank=True)
    valid_months = models.PositiveSmallIntegerField()
    stale_from = models.DateTimeField(null=True)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        constraints = (models.UniqueConstraint(fields=["topic", "number"], name="topic_version_once"),)
        indexes = (
            models.Index(
                fields=["stale_from"], condition=models.Q(stale_from__isnull=False), name="topic_version_outdates"
            ),
        )


class SignOffQuerySet(models.QuerySet["SignOff"]):
    """Filters on sign-offs."""

    def standing(self, at: datetime) -> Self:
        """Keep those that count at an instant: begun, not expired, not revoked and not outdated by then."""
        not_revoked = models.Q(revocation=None) | models.Q(revocation__at__gt=at)
        outdated = models.Exists(later_versions().filter(stale_from__lte=at))
        return self.filter(not_revoked, ~outdated, valid_from__lte=at, expires_at__gt=at)

    def with_end(self) -> Self:
        """Bring along, as ``stale_from``, when a later version of the topic outdates it; None if none does."""
        first = later_versions().exclude(stale_from=None).order_by("stale_from").values("stale_from")[:1]
        return self.annotate(stale_from=models.Subquery(first))

    def visible_to(self, member: Membership) -> Self:
        """Keep a plain member's own; everybody else sees those of the whole darkroom."""
        if member.holds(Role.TECHNICIAN, Role.INSTRUCTOR, Role.ADMIN):
            return self.filter(topic__darkroom=member.darkroom_id)
        return self.filter(trainee=member)

    def with_names(self) -> Self:
        """Bring along what is needed to word a sign-off."""
        return self.with_end().select_related("topic", "topic_version", "trainee", "signer", "revocation__by")


def later_versions() -> models.QuerySet[TopicVersion]:
    """Return the versions of a sign-off's topic that came after the one it was given for."""
    return TopicVersion.objects.filter(
        topic=models.OuterRef("topic"), number__gt=models.OuterRef("topic_version__number")
    )


class SignOff(models.Model):
    """An instructor's word that somebody is trained in a topic, until the end of a stated local day."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    topic = models.ForeignKey(Topic, models.PROTECT, related_name="sign_offs")
    topic_version = models.ForeignKey(TopicVersion, models.PROTECT, related_name="+")
    trainee = models.ForeignKey(Membership, models.PROTECT, related_name="sign_offs")
    signer = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    valid_from = models.DateTimeField()
    expires_at = models.DateTimeField()
    evidence = models.CharField(max_length=500, blank=True)
    outside_training = models.BooleanField(default=False)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    objects: ClassVar[models.Manager["SignOff"]] = SignOffQuerySet.as_manager()

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=~models.Q(trainee=models.F("signer")), name="sign_off_signer_is_not_trainee"
            ),
            models.CheckConstraint(
                condition=models.Q(expires_at__gt=models.F("valid_from")), name="sign_off_ends_after_start"
            ),
        )
        indexes = (models.Index(fields=["expires_at"], name="sign_off_end"),)

    @property
    def counts_until(self) -> datetime:
        """The instant it ends at, unless taken back: its own, or that of a new version; needs ``with_end``."""
        stale_from: datetime | None = self.stale_from  # type: ignore[attr-defined]
        return min(self.expires_at, stale_from or self.expires_at)


class Revocation(models.Model):
    """A sign-off taken back (or suspended by an admin, or given up by its holder), with the reason."""

    append_only = True

    sign_off = models.OneToOneField(SignOff, models.PROTECT, related_name="revocation")
    by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    kind = models.CharField(max_length=12)
    reason = models.CharField(max_length=500)
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")


def topics_held(membership: Membership, codes: Iterable[str], at: datetime) -> set[str]:
    """Return which of these topics the person is signed off for at an instant."""
    standing = SignOff.objects.standing(at).filter(trainee=membership, topic__code__in=set(codes))
    return set(standing.values_list("topic__code", flat=True))


def missing_topics(membership: Membership, codes: Iterable[str], at: datetime) -> list[str]:
    """Return the topics the person is not signed off for at an instant, in the order asked."""
    wanted = list(dict.fromkeys(codes))
    held = topics_held(membership, wanted, at) if wanted else set()
    return [code for code in wanted if code not in held]
