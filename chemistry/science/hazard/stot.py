"""Harm to organs from one exposure or from many, and the irritant third category of airways and drowsiness."""

from chemistry.science.hazard import limit
from chemistry.science.hazard.category import Category, Endpoint, of
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.single import Row, alone, weight
from chemistry.science.hazard.trail import Trail, counted, summed

THIRD = {each: of(each, "STOT SE 3") for each in (Endpoint.AIRWAYS, Endpoint.DROWSINESS)}


def _rows(kind: str) -> tuple[Row, ...]:
    first, second = f"STOT {kind} 1", f"STOT {kind} 2"
    return (
        Row(first, first, limit.ORGAN_FULL),
        Row(first, second, limit.ORGAN_LOWER),
        Row(second, second, limit.ORGAN_FULL),
    )


SINGLE, REPEATED = _rows("SE"), _rows("RE")


def stot(point: Point) -> list[Trail]:
    """Return the trails: category 1 from 10 %, 2 from 1 % of a 1 or 10 % of a 2; category 3 from a sum of 20 %.

    Shares in % w/w; H335 and H336 are summed apart. Source: CLP Annex I Tables 3.8.3 and 3.9.4, read through TRGS 201.
    """
    found = [
        *alone(point, Endpoint.ORGAN_SINGLE, "Table 3.8.3: each by itself", SINGLE),
        *alone(point, Endpoint.ORGAN_REPEATED, "Table 3.9.4: each by itself", REPEATED),
    ]
    for endpoint, given in THIRD.items():
        rows = [
            counted(each, weight(each, endpoint, given.code, limit.STOT_3))
            for each in point.shares
            if _counts(each, given)
        ]
        if rows:
            found.append(summed(given, f"Table 3.8.3: sum for {given.statement}", limit.STOT_3, rows))
    return found


def _counts(share: Share, given: Category) -> bool:
    bands = share.substance.bands_at.get(given.endpoint, ())
    listed = bands or share.substance.worst(given.endpoint)
    return bool(listed) and share.percent >= min([limit.CUT_STOT_3.value, *(each.start for each in bands)])
