"""Balances above a single batch: of a month, of the darkroom, and of one waste container."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import Case, F, IntegerField, QuerySet, Sum, When

from accounts.models import Darkroom
from chemistry.commands.balance import AWAY
from chemistry.models import Movement, Place
from waste.commands.collecting import EMPTIED
from waste.models import Collection, Container, DrainRelease, Fill


@dataclass
class Account:
    """What moved in a time, in 0.1 mL. ``places`` is what is where by it: came from there below zero, went there above.

    ``stored``: what the vessels hold more than before. ``collected``, ``found`` and ``by_hand`` are of the containers,
    ``released`` went down the drain by a release of its own.
    """

    places: Counter[str] = field(default_factory=Counter)
    used: int = 0
    returned: int = 0
    collected: int = 0
    found: int = 0
    by_hand: int = 0
    released: int = 0

    @property
    def made(self) -> int:
        return -self.places[Place.MADE]

    @property
    def water(self) -> int:
        return -self.places[Place.WATER]

    @property
    def stored(self) -> int:
        return self.places[Place.VESSEL]

    @property
    def difference(self) -> int:
        """What came in, less what went away and is stored: nothing, since every movement has two ends."""
        return self.made + self.water - sum(self.places[place] for place in AWAY) - self.stored


def of_time(darkroom: Darkroom, since: datetime | None = None, until: datetime | None = None) -> Account:
    """Draw up what moved from one instant to before another; what was taken back counts less, at its own time."""
    during = {name: at for name, at in (("occurred_at__gte", since), ("occurred_at__lt", until)) if at}
    account = Account()
    signed = Case(When(reverses=None, then=F("volume")), default=-F("volume"), output_field=IntegerField())
    source = Case(When(reverses=None, then=F("source")), default=F("target"))
    target = Case(When(reverses=None, then=F("target")), default=F("source"))
    rows = Movement.objects.filter(entry__darkroom=darkroom, **during).order_by()
    for came, went, amount in rows.values_list(source, target).annotate(sum=Sum(signed)):
        account.places[came] -= int(amount)
        account.places[went] += int(amount)
        account.used += int(amount) * (came == Place.VESSEL and went == Place.RUN)
        account.returned += int(amount) * (came == Place.RUN and went == Place.VESSEL)
    left = Collection.objects.exclude(pickup=None).filter(container__darkroom=darkroom, **during)
    account.collected, account.found = _sums(left, "volume", "found")
    fresh = Fill.objects.exclude(origin__kind=EMPTIED).filter(container__darkroom=darkroom, **during)
    (poured,) = _sums(fresh, "volume")
    account.by_hand = poured - account.places[Place.CONTAINER]
    (account.released,) = _sums(DrainRelease.objects.filter(darkroom=darkroom, **during), "volume")
    return account


def of_container(container: Container) -> dict[str, int]:
    """Draw up one container's account: poured + found - collected - contents = difference, which is nothing."""
    (poured,) = _sums(Fill.objects.filter(container=container), "volume")
    collected, found = _sums(Collection.objects.filter(container=container), "volume", "found")
    told = {"poured": poured, "collected": collected, "found": found, "contents": container.contents}
    return told | {"difference": poured + found - collected - container.contents}


def _sums(rows: QuerySet[Any], *columns: str) -> list[int]:
    """Add up columns, each on its own; no rows add up to nothing."""
    found = rows.aggregate(**{name: Sum(name) for name in columns})
    return [int(found[name] or 0) for name in columns]
