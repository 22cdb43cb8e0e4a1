"""A kind of waste."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models

from accounts.models import Darkroom, Entry

OTHER = "other"


class Stream(models.Model):
    """A kind of waste that is kept apart, such as spent fixer, as it reads today; ``versions`` keep how it read before.

    ``list_code`` is its code in the List of Waste, ``us_codes`` are the waste codes of the United States, as D011.
    ``kind`` is the starter stream it is a case of (a second stream for paper fixer is still ``fixer``), or ``other``.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="streams")
    code = models.SlugField(max_length=40)
    kind = models.CharField(max_length=40, default=OTHER)
    name = models.CharField(max_length=120)
    list_code = models.CharField(max_length=20, blank=True)
    us_codes = models.JSONField(default=list, blank=True)
    note = models.CharField(max_length=500, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "code"], name="stream_code_once"),)

    @property
    def sort(self) -> str:
        """What a liquid is compared by: a stream like no starter stream is only like itself."""
        return self.code if self.kind == OTHER else self.kind


class StreamVersionQuerySet(models.QuerySet["StreamVersion"]):
    """Filters on how streams read."""

    def as_of(self, stream: Stream, at: datetime) -> "StreamVersion | None":
        """Return how a stream read at an instant; before its first words, how it read first."""
        rows = self.filter(stream=stream)
        begun = rows.filter(valid_from__lte=at).order_by("-valid_from", "-id").first()
        return begun or rows.order_by("valid_from", "id").first()


class StreamVersion(models.Model):
    """What a stream was called and coded from an instant on; a later word for the same instant prevails."""

    append_only = True

    stream = models.ForeignKey(Stream, models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    valid_from = models.DateTimeField()
    name = models.CharField(max_length=120)
    list_code = models.CharField(max_length=20, blank=True)
    us_codes = models.JSONField(default=list, blank=True)
    note = models.CharField(max_length=500, blank=True)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    objects: ClassVar[StreamVersionQuerySet] = StreamVersionQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (models.UniqueConstraint(fields=["stream", "number"], name="stream_version_once"),)
