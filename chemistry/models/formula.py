"""A chemical as used, in versions; a published version never changes."""

import uuid
from functools import cached_property

from django.db import models

from accounts.models import Darkroom, Entry, Membership
from chemistry.science.formula import Rules
from chemistry.science.reading import read_rules


class Formula(models.Model):
    """A formula of this darkroom, known by its code."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="formulas")
    code = models.SlugField(max_length=60)
    name = models.CharField(max_length=120)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["darkroom", "code"], name="formula_code_once"),)


class VersionState(models.TextChoices):
    """A draft may change; a published version stands for ever."""

    DRAFT = "draft"
    PUBLISHED = "published"


class FormulaVersion(models.Model):
    """The figures of a formula with the source of each."""

    frozen_when = "OLD.state = 'published'"

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    formula = models.ForeignKey(Formula, models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=VersionState.choices, default=VersionState.DRAFT)
    rules_data = models.JSONField()
    sources = models.JSONField(default=dict)
    drafted_by = models.ForeignKey(Membership, models.PROTECT, related_name="+")
    published_by = models.ForeignKey(Membership, models.PROTECT, null=True, related_name="+")
    published_at = models.DateTimeField(null=True)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["formula", "number"], name="formula_version_once"),)

    @cached_property
    def rules(self) -> Rules:
        """The figures as the pure rules read them."""
        return read_rules(self.rules_data)
