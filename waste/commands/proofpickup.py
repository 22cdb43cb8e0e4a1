"""Do pickups and documents hold: does nothing leave without one, and is every file what it was?"""

import hashlib
from collections.abc import Iterator
from typing import Any

from django.db.models import Exists, OuterRef, Q

from waste.models import Collection, Content, Document, PickupItem
from waste.models.pickup import OPEN_STATES


def differences(darkroom_id: int | None = None) -> Iterator[str]:
    """Yield a line for each row of the ledger, item and file that does not bear its pickup or digest out."""
    scope = {} if darkroom_id is None else {"darkroom": darkroom_id}
    yield from _collected({f"pickup__{name}": value for name, value in scope.items()})
    yield from _emptied({f"container__{name}": value for name, value in scope.items()})
    yield from _items({f"pickup__{name}": value for name, value in scope.items()})
    yield from _files(scope)


def _collected(scope: dict[str, Any]) -> Iterator[str]:
    rows = Collection.objects.exclude(pickup=None).filter(**scope)
    for row in rows.exclude(pickup__state="confirmed").order_by("pk").iterator():
        yield f"collection {row.public_id}: its pickup is not confirmed"


def _emptied(scope: dict[str, Any]) -> Iterator[str]:
    """What was poured from a container went somewhere whole, and was taken back on both sides or on neither."""
    shown = ("reversed_by", "fill__reversed_by", "release__reversed_by")
    rows = Collection.objects.filter(pickup=None, reverses=None, **scope).select_related(*shown)
    for row in rows.order_by("pk").iterator():
        there = row.fill or row.release
        both = hasattr(row, "reversed_by") == hasattr(there, "reversed_by")
        if there is None or there.volume != row.volume or there.entry_id != row.entry_id or not both:
            yield f"emptying {row.public_id}: what left the container is not what came in elsewhere"


def _items(scope: dict[str, Any]) -> Iterator[str]:
    is_open = Q(pickup__state__in=OPEN_STATES)
    wrong = PickupItem.objects.filter((is_open & Q(open=False)) | (~is_open & Q(open=True)), **scope)
    for code, container in wrong.order_by("pk").values_list("pickup__code", "container__code"):
        yield f"pickup {code}: whether it holds container {container} does not follow from its state"


def _files(scope: dict[str, Any]) -> Iterator[str]:
    """Read the files one by one: each is at most 10 MiB."""
    for row in Content.objects.filter(**scope).order_by("pk").iterator(chunk_size=1):
        if hashlib.sha256(bytes(row.data)).hexdigest() != row.sha256:
            yield f"file {row.sha256}: its bytes are not those of its digest"
    file = Content.objects.filter(darkroom=OuterRef("darkroom"), sha256=OuterRef("sha256"))
    lost = Document.objects.filter(~Exists(file), **scope).kept().order_by("pk")
    for key in lost.values_list("public_id", flat=True).iterator():
        yield f"document {key}: its file is missing"
