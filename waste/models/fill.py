"""One pour into a container: the waste ledger."""

import uuid
from typing import ClassVar, Self

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from accounts.models import Darkroom, Entry
from waste.models.container import Container


class FillQuerySet(models.QuerySet["Fill"]):
    """Filters on pours."""

    def of(self, darkroom: Darkroom) -> Self:
        """Keep those of one darkroom, each with all that an answer shows."""
        shown = ("container", "entry__by", "entry__on_behalf_of", "reverses", "reversed_by", "incident")
        return self.filter(container__darkroom=darkroom).select_related(*shown)

    def standing(self) -> Self:
        """Keep the pours that nobody took back."""
        return self.filter(reverses=None, reversed_by=None)


class Fill(models.Model):
    """A pour, in 0.1 mL, with a snapshot of where it came from, so that the log stays true whatever happens above it.

    ``listed`` keeps the stream and its codes as they read then; ``acknowledged`` are the words somebody poured a
    caution with; ``mass_g`` is a weight where one was told, as of solids.
    A correction is a row of the negative volume that names its target.
    """

    append_only = True

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    container = models.ForeignKey(Container, models.PROTECT, related_name="fills")
    volume = models.BigIntegerField()
    origin = models.JSONField(encoder=DjangoJSONEncoder)
    listed = models.JSONField(default=dict)
    flags = models.JSONField(default=list)
    acknowledged = models.CharField(max_length=500, blank=True)
    mass_g = models.BigIntegerField(null=True)
    reverses = models.OneToOneField("self", models.PROTECT, null=True, related_name="reversed_by")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()

    objects: ClassVar[FillQuerySet] = FillQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(volume__gt=0, reverses=None) | models.Q(volume__lt=0, reverses__isnull=False),
                name="fill_positive_or_reversal",
            ),
        )
