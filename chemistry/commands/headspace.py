"""When a vessel first stood part-full, found again in its movements."""

from datetime import datetime
from itertools import groupby

from django.db.models import QuerySet

from chemistry.models import Movement, Vessel
from chemistry.science import keeping
from darkroom_service.quantity import millilitres


def first_part_full(moves: QuerySet[Movement], vessel: Vessel) -> datetime | None:
    """Return when a vessel first stood part-full by these movements, looking only where one command ended.

    What left before anything came belonged to the filling before.
    """
    contents, begun = 0, False
    at: datetime
    rows = moves.order_by("occurred_at", "id")
    for (at, _), together in groupby(rows, key=lambda row: (row.occurred_at, row.entry_id)):
        for row in together:
            came, went = row.target_vessel_id == vessel.pk, row.source_vessel_id == vessel.pk
            begun = begun or came
            contents += row.volume * (came - went) * begun
        if contents > 0 and keeping.is_part_full(millilitres(contents), millilitres(vessel.nominal)):
            return at
    return None
