"""A chemical as used, in versions; a published version never changes."""

import json
import uuid
from functools import cached_property, lru_cache
from typing import ClassVar, Self

from django.db import models

from accounts.models import Darkroom, Entry, Membership
from chemistry.science.formula import Rules
from chemistry.science.reading import read_rules


class FormulaQuerySet(models.QuerySet["Formula"]):
    """Filters on formulas."""

    def with_published(self) -> Self:
        """Bring along the published versions, as ``published``, the newest last."""
        versions = FormulaVersion.objects.filter(state=VersionState.PUBLISHED).order_by("number")
        return self.prefetch_related(models.Prefetch("versions", versions, to_attr="published"))


class Formula(models.Model):
    """A formula of this darkroom, known by its code."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="formulas")
    code = models.SlugField(max_length=60)
    name = models.CharField(max_length=120)
    version = models.PositiveIntegerField(default=1)

    objects: ClassVar[models.Manager["Formula"]] = FormulaQuerySet.as_manager()

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
        return _rules_of(json.dumps(self.rules_data))


@lru_cache(maxsize=1024)
def _rules_of(text: str) -> Rules:
    """Read rules once for each text, keys in their order: many rows hold the same version, and rules never change."""
    return read_rules(json.loads(text))
