"""Who bears what of a batch's cost, in minor units of the darkroom's currency."""

from django.db import models

from accounts.models import Entry, Membership
from chemistry.models.batch import Batch


class CostShare(models.Model):
    """A share of a batch's cost: borne by a member, by a batch made from it, or (both empty) by the darkroom."""

    append_only = True

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="cost_shares")
    member = models.ForeignKey(Membership, models.PROTECT, null=True, related_name="cost_shares")
    into = models.ForeignKey(Batch, models.PROTECT, null=True, related_name="+")
    minor = models.BigIntegerField()
    reverses = models.OneToOneField("self", models.PROTECT, null=True, related_name="reversed_by")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    occurred_at = models.DateTimeField()
