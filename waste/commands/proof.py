"""Do the containers hold what their pours add up to, less what was collected, and does every reversal mirror?"""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from django.db.models import F, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce

from darkroom_service.quantity import millilitres
from waste.commands import proofpickup
from waste.commands.fill import kind_of
from waste.commands.stream import WORDS
from waste.models import Collection, Container, DrainRelease, Fill, Incident, Stream, Washing
from waste.science import fill as rules


def differences(darkroom_id: int | None = None) -> Iterator[str]:
    """Yield a line for each total, memory, reversal or version that the rows beneath it do not bear out."""
    yield from _contents(darkroom_id)
    yield from _memories(darkroom_id)
    yield from _mirrors(darkroom_id)
    yield from _releases(darkroom_id)
    yield from _incidents(darkroom_id)
    yield from _streams(darkroom_id)
    yield from proofpickup.differences(darkroom_id)


def _here(path: str, darkroom_id: int | None) -> Q:
    return Q() if darkroom_id is None else Q(**{path: darkroom_id})


def _contents(darkroom_id: int | None) -> Iterator[str]:
    """Contents = fills - collected + found."""
    fills = Fill.objects.filter(container=OuterRef("pk")).order_by().values("container").annotate(sum=Sum("volume"))
    left = Collection.objects.filter(container=OuterRef("pk")).order_by().values("container")
    went = left.annotate(sum=Sum(F("volume") - F("found"))).values("sum")
    poured = Coalesce(Subquery(fills.values("sum")), 0) - Coalesce(Subquery(went), 0)
    wrong = Container.objects.filter(_here("darkroom", darkroom_id)).annotate(poured=poured)
    rows = wrong.exclude(contents=F("poured")).order_by("pk").values_list("code", "contents", "poured")
    for code, held, added in rows.iterator():
        yield f"container {code}: says {millilitres(held)} mL, its fills add up to {millilitres(added)} mL"


def _memories(darkroom_id: int | None) -> Iterator[str]:
    """What a container remembers is what was poured since it was last washed."""
    washed = Washing.objects.filter(container=OuterRef("container")).order_by("-entry_id").values("entry_id")[:1]
    fills = Fill.objects.standing().filter(_here("container__darkroom", darkroom_id))
    since = fills.annotate(washed=Coalesce(Subquery(washed), 0)).filter(entry_id__gt=F("washed"))
    poured: dict[int, list[tuple[Any, Any]]] = defaultdict(list)
    for container, *pair in since.order_by().values_list("container", "origin__stream", "origin__liquid").distinct():
        poured[container].append((pair[0], pair[1]))
    rows = Container.objects.filter(_here("darkroom", darkroom_id)).select_related("stream")
    for row in rows.order_by("pk").iterator():
        told = sorted({kind_of({"stream": one, "liquid": other}, row) for one, other in poured[row.pk]})
        if row.held != told:
            yield f"container {row.code}: remembers {row.held}, its fills say {told}"


def _mirrors(darkroom_id: int | None) -> Iterator[str]:
    """Every reversal is of the same container and the same volume, the other way."""
    fills = Fill.objects.exclude(reverses=None).filter(_here("container__darkroom", darkroom_id))
    for fill in fills.exclude(volume=-F("reverses__volume"), container=F("reverses__container")).order_by("pk"):
        yield f"fill {fill.public_id}: does not mirror the fill it takes back"
    rows = Collection.objects.exclude(reverses=None).filter(_here("container__darkroom", darkroom_id))
    alike = {"volume": -F("reverses__volume"), "found": -F("reverses__found"), "container": F("reverses__container")}
    for row in rows.exclude(**alike).order_by("pk"):
        yield f"collection {row.public_id}: does not mirror the collection it takes back"


def _releases(darkroom_id: int | None) -> Iterator[str]:
    """A reversal mirrors its release; a release nothing allowed says so."""
    rows = DrainRelease.objects.filter(_here("darkroom", darkroom_id))
    alike = {"volume": -F("reverses__volume"), "water": -F("reverses__water"), "day": F("reverses__day")}
    for row in rows.exclude(reverses=None).exclude(**alike).order_by("pk"):
        yield f"drain release {row.public_id}: does not mirror the release it takes back"
    for row in rows.filter(rule=None, reverses=None).order_by("pk"):
        if not row.flags:
            yield f"drain release {row.public_id}: no rule allowed it, and it is not flagged"


def _incidents(darkroom_id: int | None) -> Iterator[str]:
    """Every doubtful pour has its incident."""
    told = Incident.objects.exclude(fill=None).values("fill")
    rows = Fill.objects.filter(_here("container__darkroom", darkroom_id)).exclude(flags=[]).exclude(pk__in=told)
    for fill in rows.filter(reverses=None).order_by("pk").iterator():
        if rules.DOUBTFUL & set(fill.flags):
            yield f"fill {fill.public_id}: broke {fill.flags[0]}, and no incident tells of it"


def _streams(darkroom_id: int | None) -> Iterator[str]:
    """Every stream reads as one of its versions."""
    rows = Stream.objects.filter(_here("darkroom", darkroom_id)).prefetch_related("versions")
    for stream in rows.order_by("pk"):
        read = [[getattr(each, name) for name in WORDS] for each in (stream, *stream.versions.all())]
        if read[0] not in read[1:]:
            yield f"stream {stream.code}: reads as none of its versions"
