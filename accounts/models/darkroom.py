"""A darkroom: the tenant, its settings, and the head of its record."""

import uuid

from django.db import models


class SecondPerson(models.TextChoices):
    """How strictly a second person is asked for."""

    OFF = "off"
    NOTED = "noted"
    REQUIRED = "required"

    @classmethod
    def proposed(cls, qualified: int) -> "SecondPerson":
        """Return the setting to propose where so many technicians and instructors could be the second person."""
        if qualified >= 3:
            return cls.REQUIRED
        return cls.NOTED if qualified == 2 else cls.OFF


class CountryRules(models.TextChoices):
    """Whose waste and label rules are applied."""

    EU = "EU"
    UK = "UK"
    US = "US"
    NONE = "none"


class Darkroom(models.Model):
    """One room that shares chemistry. Carry-out is in 0.1 mL for each roll unit of film or of paper.

    A loss is told of above ``loss_percent`` of what was there and ``loss_volume`` (0.1 mL), both.
    ``room_volume`` is in 0.01 m³ and ``air_changes`` in 0.01 for each hour; None where nobody has measured them.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    slug = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=60, default="UTC")
    country_rules = models.CharField(max_length=4, choices=CountryRules.choices, default=CountryRules.NONE)
    currency = models.CharField(max_length=3, default="EUR")
    emergency_text = models.TextField(max_length=2000, blank=True)
    second_person_mixing = models.CharField(max_length=8, choices=SecondPerson.choices, default=SecondPerson.OFF)
    second_person_release = models.CharField(max_length=8, choices=SecondPerson.choices, default=SecondPerson.OFF)
    second_person_pickup = models.CharField(max_length=8, choices=SecondPerson.choices, default=SecondPerson.OFF)
    carry_out_film = models.PositiveIntegerField(default=50)
    carry_out_paper = models.PositiveIntegerField(default=100)
    loss_percent = models.PositiveSmallIntegerField(default=5)
    loss_volume = models.PositiveIntegerField(default=2000)
    hold_minutes = models.PositiveSmallIntegerField(default=60)
    tank_sizes = models.JSONField(default=list, blank=True)
    room_volume = models.PositiveIntegerField(null=True, blank=True)
    air_changes = models.PositiveIntegerField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.slug


class Head(models.Model):
    """The last entry of a darkroom's record. Its row is the one lock that every command takes first."""

    darkroom = models.OneToOneField(Darkroom, models.PROTECT, primary_key=True, related_name="head")
    seq = models.BigIntegerField(default=0)
    hash = models.CharField(max_length=64, default="0" * 64)
