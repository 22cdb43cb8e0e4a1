"""How one person wants to be told, in one darkroom: each by itself, once a day, or in the inbox only."""

from django.core.validators import MaxValueValidator
from django.db import models

from accounts.models.membership import Membership


class Mailing(models.TextChoices):
    """When mail goes out. Notices of safety pass, whatever is chosen."""

    EACH = "each"
    DAILY = "daily"
    OFF = "off"


class Preference(models.Model):
    """Wishes of one member; hours and times are local to the darkroom. No row means each at once and no quiet hours."""

    membership = models.OneToOneField(Membership, models.PROTECT, related_name="preference")
    mail = models.CharField(max_length=5, choices=Mailing.choices, default=Mailing.EACH)
    digest_hour = models.PositiveSmallIntegerField(default=7, validators=[MaxValueValidator(23)])
    quiet_from = models.TimeField(null=True)
    quiet_until = models.TimeField(null=True)
    version = models.PositiveIntegerField(default=1)
