"""Papers kept as files: consignment notes, receipts, analyses. Bytes lie in the database by their SHA-256."""

import uuid
from typing import ClassVar, Self

from django.db import models

from accounts.models import Darkroom, Entry, Membership
from waste.models.pickup import Pickup


class MediaType(models.TextChoices):
    """What a file may be, judged by what is in it."""

    PDF = "application/pdf"
    PNG = "image/png"
    JPEG = "image/jpeg"
    TEXT = "text/plain"


class Content(models.Model):
    """The bytes of a file, once for each darkroom. Only the removal of the last document that has them deletes them."""

    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="+")
    sha256 = models.CharField(max_length=64)
    data = models.BinaryField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "sha256"], name="content_once"),)


class DocumentQuerySet(models.QuerySet["Document"]):
    """Filters on documents."""

    def of(self, darkroom: Darkroom) -> Self:
        """Keep those of one darkroom, each with all that an answer shows."""
        return self.filter(darkroom=darkroom).select_related("darkroom", "entry__by", "pickup", "removal")

    def kept(self) -> Self:
        """Keep those whose bytes are still there."""
        return self.filter(removal=None)


class Document(models.Model):
    """A file somebody attached. ``subject`` names what it is about, as notices do: ``pickup:<id>``."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="documents")
    pickup = models.ForeignKey(Pickup, models.PROTECT, null=True, related_name="documents")
    subject = models.CharField(max_length=120)
    name = models.CharField(max_length=120)
    media_type = models.CharField(max_length=40, choices=MediaType.choices)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[DocumentQuerySet] = DocumentQuerySet.as_manager()  # type: ignore[assignment]


class DocumentRemoval(models.Model):
    """An admin's word that a document is past its retention and its bytes were deleted; its name and digest stay."""

    append_only = True

    document = models.OneToOneField(Document, models.PROTECT, related_name="removal")
    reason = models.CharField(max_length=500)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()


class Disclosure(models.Model):
    """An admin's stated reason to read names in the waste log; it serves only whoever asked, until it expires."""

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="+")
    member = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    reason = models.CharField(max_length=500)
    expires_at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
