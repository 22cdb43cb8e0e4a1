"""A kind of waste."""

import uuid

from django.db import models

from accounts.models import Darkroom

OTHER = "other"


class Stream(models.Model):
    """A kind of waste that is kept apart, such as spent fixer; ``list_code`` is its code in the list the law uses.

    ``kind`` is the starter stream it is a case of (a second stream for paper fixer is still ``fixer``), or ``other``.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="streams")
    code = models.SlugField(max_length=40)
    kind = models.CharField(max_length=40, default=OTHER)
    name = models.CharField(max_length=120)
    list_code = models.CharField(max_length=20, blank=True)
    note = models.CharField(max_length=500, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "code"], name="stream_code_once"),)

    @property
    def sort(self) -> str:
        """What a liquid is compared by: a stream like no starter stream is only like itself."""
        return self.code if self.kind == OTHER else self.kind
