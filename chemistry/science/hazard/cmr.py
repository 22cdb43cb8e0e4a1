"""Germ cells, cancer, reproduction and lactation: each ingredient by itself, boron compounds together."""

from collections.abc import Sequence
from dataclasses import replace

from chemistry.science.hazard import limit
from chemistry.science.hazard.category import Endpoint, of
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.single import Row, alone, weight
from chemistry.science.hazard.substance import Hazard
from chemistry.science.hazard.trail import Trail, counted, summed

REPRODUCTION = Endpoint.REPRODUCTION
BORON = "boron"
_MUTA = (
    Row("Muta. 1A", "Muta. 1A", limit.MUTAGEN_1),
    Row("Muta. 1B", "Muta. 1B", limit.MUTAGEN_1),
    Row("Muta. 2", "Muta. 2", limit.MUTAGEN_2),
)
_CARC = (
    Row("Carc. 1A", "Carc. 1A", limit.CARCINOGEN_1),
    Row("Carc. 1B", "Carc. 1B", limit.CARCINOGEN_1),
    Row("Carc. 2", "Carc. 2", limit.CARCINOGEN_2),
)
_REPR = (
    Row("Repr. 1A", "Repr. 1A", limit.REPRODUCTION_1),
    Row("Repr. 1B", "Repr. 1B", limit.REPRODUCTION_1),
    Row("Repr. 2", "Repr. 2", limit.REPRODUCTION_2),
)


def cmr(point: Point) -> list[Trail]:
    """Return the trails: Muta. and Carc. 1 from 0.1 %, 2 from 1.0 %; Repr. 1 from 0.3 %, 2 from 3.0 %; lactation 0.3 %.

    Shares in % w/w, never added up but for boron compounds. Source: CLP Annex I Tables 3.5.2, 3.6.2 and 3.7.2, read.
    """
    others = replace(point, shares=tuple(each for each in point.shares if not _summed(each)))
    return [
        *alone(point, Endpoint.GERM_CELLS, "Table 3.5.2: each by itself", _MUTA),
        *alone(point, Endpoint.CANCER, "Table 3.6.2: each by itself", _CARC, worst_wording),
        *alone(others, REPRODUCTION, "Table 3.7.2: each by itself", _REPR, lettered),
        *boron(point),
        *alone(point, Endpoint.LACTATION, "Table 3.7.2: each by itself", (Row("Lact.", "Lact.", limit.LACTATION),)),
    ]


def boron(point: Point) -> list[Trail]:
    """Return the trail of the boron compounds classed Repr. 1: their shares in % w/w add up against 0.3 %.

    Hydrates count as weighed. Source: CLP Annex VI Note 11, Regulation (EU) 2023/1434, read.
    """
    shares = [each for each in point.shares if _summed(each)]
    if not shares:
        return []
    given = of(REPRODUCTION, "Repr. 1B")
    rows = [counted(each, weight(each, REPRODUCTION, given.code, limit.BORON)) for each in shares]
    said = lettered([hazard for each in shares for hazard in each.substance.hazard_at[REPRODUCTION][:1]])
    return [summed(given, "Note 11: boron compounds are added up", limit.BORON, rows, said)]


def _summed(share: Share) -> bool:
    worst = share.substance.worst(REPRODUCTION)
    return share.substance.summed_as == BORON and worst is not None and worst.category.code != "Repr. 2"


def worst_wording(hazards: Sequence[Hazard]) -> str:
    """Return H350 rather than H350i when any ingredient needs the wider words."""
    return min(each.statement for each in hazards)


def lettered(hazards: Sequence[Hazard]) -> str:
    """Return H360 or H361 with the letters of all: H360F and H360D give H360FD; plain and lettered stay plain.

    Source: CLP Annex VI 1.1.2.1.2, from memory.
    """
    stem = hazards[0].statement[:4]
    letters = [each.statement[4:] for each in hazards]
    if "" in letters:
        return stem
    found = "".join(letters)
    sure = [each for each in "FD" if each in found]
    suspected = [each for each in "fd" if each in found and each.upper() not in sure]
    return stem + "".join([*sure, *suspected])
