"""Do the containers hold what their pours add up to?"""

from collections.abc import Iterator

from django.db.models import F, Sum
from django.db.models.functions import Coalesce

from darkroom_service.quantity import millilitres
from waste.models import Container, Fill


def differences(darkroom_id: int | None = None) -> Iterator[str]:
    """Yield a line for each container whose contents, and each reversal whose volume, the ledger does not bear out."""
    containers, fills = Container.objects.all(), Fill.objects.exclude(reverses=None)
    if darkroom_id is not None:
        containers, fills = containers.filter(darkroom=darkroom_id), fills.filter(container__darkroom=darkroom_id)
    poured = containers.annotate(poured=Coalesce(Sum("fills__volume"), 0)).exclude(contents=F("poured"))
    for code, held, added in poured.order_by("pk").values_list("code", "contents", "poured").iterator():
        yield f"container {code}: says {millilitres(held)} mL, its fills add up to {millilitres(added)} mL"
    mirrored = fills.exclude(volume=-F("reverses__volume"), container=F("reverses__container"))
    for fill in mirrored.order_by("pk").iterator():
        yield f"fill {fill.public_id}: does not mirror the fill it takes back"
