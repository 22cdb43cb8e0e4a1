"""Harm to water life: the summation with M-factors."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from chemistry.science.hazard import limit
from chemistry.science.hazard.category import Endpoint, of
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.trail import Missing, Trail, counted, summed

ACUTE, CHRONIC = Endpoint.AQUATIC_ACUTE, Endpoint.AQUATIC_CHRONIC
PROVISIONAL = Fraction(1)
SUSPECTED = (Fraction(10), Fraction(100))
_Weight = Callable[[int, Fraction], Fraction | None]


@dataclass(frozen=True)
class _Sum:
    endpoint: Endpoint
    code: str
    rule: str
    weight: _Weight


_SUMS = (
    _Sum(ACUTE, "Aquatic Acute 1", "M x Acute 1", lambda rank, m: m if rank == 1 else None),
    _Sum(CHRONIC, "Aquatic Chronic 1", "M x Chronic 1", lambda rank, m: m if rank == 1 else None),
    _Sum(
        CHRONIC, "Aquatic Chronic 2", "(M x 10 x Chronic 1) + Chronic 2",
        lambda rank, m: {1: 10 * m, 2: Fraction(1)}.get(rank),
    ),
    _Sum(
        CHRONIC, "Aquatic Chronic 3", "(M x 100 x Chronic 1) + (10 x Chronic 2) + Chronic 3",
        lambda rank, m: {1: 100 * m, 2: Fraction(10), 3: Fraction(1)}.get(rank),
    ),
    _Sum(CHRONIC, "Aquatic Chronic 4", "Chronic 1 + 2 + 3 + 4", lambda _rank, _m: Fraction(1)),
)  # fmt: skip


def aquatic(point: Point, assumed_m: Fraction = PROVISIONAL) -> list[Trail]:
    """Return the trails of acute and chronic summation, each against 25 %; ``assumed_m`` stands in for unknown M.

    Shares in % w/w, Acute 1 and Chronic 1 from 0.1/M %, the others from 1 %. Source: CLP Annex I 4.1.3; relevance
    read, steps and 25 % read in New Zealand's guide, the tables themselves from memory.
    """
    found = []
    for each in _SUMS:
        rows = []
        for share in point.shares:
            weight = _weight(each, share, assumed_m)
            if weight is not None:
                rows.append(counted(share, weight))
        if rows:
            found.append(summed(of(each.endpoint, each.code), each.rule, limit.AQUATIC, rows))
    return found


def _weight(summation: _Sum, share: Share, assumed_m: Fraction) -> Fraction | None:
    worst = share.substance.worst(summation.endpoint)
    if worst is None:
        return None
    rank = worst.category.rank
    m = (m_factor(share, summation.endpoint) or assumed_m) if rank == 1 else Fraction(1)
    least = limit.CUT_AQUATIC_1.value / m if rank == 1 else limit.CUT_AQUATIC_LOWER.value
    return summation.weight(rank, m) if share.percent >= least else None


def m_factor(share: Share, endpoint: Endpoint) -> Fraction | None:
    """Return the M-factor for acute or chronic, None when not known; without a chronic one the acute one holds.

    Source: ECHA dossier 27699 (no chronic data: the acute M is the chronic M), read.
    """
    acute = share.substance.m_acute
    return acute if endpoint is ACUTE else share.substance.m_chronic or acute


def unknown_m(point: Point) -> list[Missing]:
    """Name the substances whose missing M-factor could make the result worse, trying M = 10 and M = 100.

    Where the EU list gives no M the classifier has to set it from data, so 1 is provisional. Source: CLP Article 10
    by the agency's guidance, read.
    """
    lacking = sorted(
        {
            share.substance.name
            for share in point.shares
            for endpoint in (ACUTE, CHRONIC)
            if _is_first(share, endpoint) and m_factor(share, endpoint) is None
        }
    )
    if not lacking:
        return []
    now = _given(aquatic(point))
    tried = ((m, _given(aquatic(point, m)) - now) for m in SUSPECTED)
    worse, classes = next(((m, more) for m, more in tried if more), (None, set[str]()))
    if worse is None:
        return []
    would = ", ".join(sorted(classes))
    words = f"The M-factor of {', '.join(lacking)} is not known and counted as 1; with {worse} it would be {would}."
    return [Missing("m_factor.unknown", words)]


def _is_first(share: Share, endpoint: Endpoint) -> bool:
    worst = share.substance.worst(endpoint)
    return worst is not None and worst.category.rank == 1


def _given(trails: list[Trail]) -> set[str]:
    worst: dict[Endpoint | None, Trail] = {}
    for each in trails:
        if each.fired and (each.endpoint not in worst or each.rank < worst[each.endpoint].rank):
            worst[each.endpoint] = each
    return {each.code for each in worst.values()}
