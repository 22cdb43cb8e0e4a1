"""The figures behind a darkroom's standing, read in a fixed number of queries whatever the darkroom holds."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from django.db.models import Max, Min, Q, Sum

from accounts.models import Darkroom
from darkroom_service.localday import day_of, start_of
from darkroom_service.quantity import litres
from waste.commands.collecting import EMPTIED
from waste.models import Container, Fill, Stream
from waste.science.standing import Facts
from waste.science.stream import is_hazardous


def counted(darkroom: Darkroom) -> list[Stream]:
    """Return the streams whose waste counts: coded hazardous by either list, or not coded at all."""
    rows = Stream.objects.filter(darkroom=darkroom).order_by("pk")
    return [row for row in rows if row.us_codes or not row.list_code or is_hazardous(row.list_code)]


def facts(darkroom: Darkroom, at: datetime, streams: Iterable[Stream], *, far: bool = False) -> Facts:
    """Return the facts of an instant, in the darkroom's own calendar: a pour counts in the month it happened in.

    A pour taken back counts for nothing: its negative row carries the month of the pour it takes back.
    """
    today = day_of(at, darkroom.zone)
    since = start_of(today.replace(day=1), darkroom.zone)
    keys = [row.pk for row in streams]
    now = Q(occurred_at__gte=since, reverses=None) | Q(reverses__occurred_at__gte=since)
    fresh = Fill.objects.exclude(origin__kind=EMPTIED)  # from can to can nothing is generated anew
    poured = fresh.filter(now, container__stream__in=keys, occurred_at__lte=at).aggregate(sum=Sum("volume"))
    held = Container.objects.filter(stream__in=keys, contents__gt=0)
    there = held.aggregate(sum=Sum("contents"), began=Min("began_at"))
    began = there["began"] and day_of(there["began"], darkroom.zone)
    looks = held.annotate(last=Max("inspections__occurred_at")).values_list("began_at", "last")
    seen = [max(moment for moment in pair if moment) for pair in looks if any(pair)]
    inspected = day_of(min(seen), darkroom.zone) if seen else None
    month, onsite = (litres(total or 0) for total in (poured["sum"], there["sum"]))
    return Facts(darkroom.country_rules, today, month, onsite, began, inspected, far)


def silver(container: Container) -> tuple[Decimal, Decimal, Decimal]:
    """Return milligrams of silver in a container, low, usual and high, by what the pours since it began told.

    Where part was taken away since, what is left has its share of it.
    """
    since = {"occurred_at__gte": container.began_at} if container.began_at else {}
    rows = Fill.objects.standing().filter(container=container, **since)
    found, poured = [Decimal(0)] * 3, 0
    for volume, origin in rows.values_list("volume", "origin"):
        poured += volume
        told = origin.get("silver_mg") or {}
        names = ("low", "nominal", "high")
        found = [sum_ + Decimal(told.get(name, "0")) for sum_, name in zip(found, names, strict=True)]
    share = min(Decimal(container.contents) / poured, Decimal(1)) if poured else Decimal(0)
    low, usual, high = (milligrams * share for milligrams in found)
    return low, usual, high
