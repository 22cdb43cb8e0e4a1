"""Rules that look at one ingredient at a time, and the weights specific limits give."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from chemistry.science.hazard.category import Endpoint, of
from chemistry.science.hazard.limit import Limit
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.substance import Hazard
from chemistry.science.hazard.trail import Trail, counted, highest

Named = Callable[[Sequence[Hazard]], str]


@dataclass(frozen=True)
class Row:
    """Ingredients of class ``having`` give the mixture class ``gives`` from ``limit`` on."""

    having: str
    gives: str
    limit: Limit


def weight(share: Share, endpoint: Endpoint, gives: str, limit: Limit) -> Fraction:
    """Return limit / specific limit for this class, 1 where the substance has none of its own.

    A share at its specific limit then weighs exactly as much as another at the general one. Pure number.
    """
    own = [each.start for each in share.substance.bands_at.get(endpoint, ()) if each.category.code == gives]
    return limit.value / min(own) if own else Fraction(1)


def alone(point: Point, endpoint: Endpoint, rule: str, rows: Iterable[Row], named: Named | None = None) -> list[Trail]:
    """Return one trail for each row that meets an ingredient; nothing is added up between ingredients.

    ``named`` words the statement from the classes that reach the limit; without it the worst category's stands.
    """
    found = []
    for row in rows:
        having = [each for each in point.shares if _has(each, endpoint, row.having)]
        if having:
            found.append(_judged(row, endpoint, rule, having, named))
    return found


def _judged(row: Row, endpoint: Endpoint, rule: str, having: Sequence[Share], named: Named | None) -> Trail:
    parts = [counted(each, weight(each, endpoint, row.gives, row.limit)) for each in having]
    reaching = [part for part in parts if part.part >= row.limit.value]
    said = ""
    if named and reaching:
        names = {each.cas for each in reaching}
        said = named([hazard for each in having if each.substance.cas in names for hazard in _of(each, endpoint)])
    return highest(of(endpoint, row.gives), rule, row.limit, reaching or parts, said)


def _of(share: Share, endpoint: Endpoint) -> tuple[Hazard, ...]:
    return share.substance.hazard_at.get(endpoint, ())[:1]


def _has(share: Share, endpoint: Endpoint, code: str) -> bool:
    worst = share.substance.worst(endpoint)
    return worst is not None and worst.category.code == code
