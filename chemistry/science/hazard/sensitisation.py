"""Allergies: which sensitisers class the mixture, and which are named on the label although they do not."""

from fractions import Fraction

from chemistry.science.hazard import limit
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.limit import Limit
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.single import Row, alone, weight
from chemistry.science.hazard.trail import Supplement, Trail, counted, supplementary

AIRWAY, SKIN = Endpoint.RESPIRATORY_SENSITISATION, Endpoint.SKIN_SENSITISATION
RULE = "Table 3.4.5: each sensitiser by itself"
RULE_NAMED = "Table 3.4.6: a sensitiser too weak to class the mixture is named"
ROWS = {
    AIRWAY: (
        Row("Resp. Sens. 1A", "Resp. Sens. 1A", limit.RESPIRATORY_1A),
        Row("Resp. Sens. 1", "Resp. Sens. 1", limit.RESPIRATORY_1),
        Row("Resp. Sens. 1B", "Resp. Sens. 1B", limit.RESPIRATORY_1B),
    ),
    SKIN: (
        Row("Skin Sens. 1A", "Skin Sens. 1A", limit.SKIN_SENSITISER_1A),
        Row("Skin Sens. 1", "Skin Sens. 1", limit.SKIN_SENSITISER_1),
        Row("Skin Sens. 1B", "Skin Sens. 1B", limit.SKIN_SENSITISER_1B),
    ),
}
_LOW_SPECIFIC = limit.ELICITS.value


def sensitisation(point: Point) -> list[Trail]:
    """Return the trails for airways and skin: 1.0 % for 1 and 1B, 0.1 % for 1A, or the substance's own limit.

    Shares in % w/w of solids and liquids; gases have another limit and are not kept here. Source: CLP Annex I Table
    3.4.5: 1A and 1B read in SOR/2015-17, Category 1 from memory.
    """
    return [trail for endpoint, rows in ROWS.items() for trail in alone(point, endpoint, RULE, rows)]


def elicitation(point: Point) -> list[Supplement]:
    """Return EUH208 naming every sensitiser that reaches its elicitation limit without classing the mixture.

    0.1 % for 1 and 1B, 0.01 % for 1A, a tenth of an own limit below 0.1 %. Source: CLP Annex I Table 3.4.6, same
    numbers read in Annex II 2.10.
    """
    reaching = {}
    for share in point.shares:
        limits = [each for each in (_below(share, endpoint) for endpoint in ROWS) if each is not None]
        if limits and share.percent >= min(limits):
            reaching[share] = min(limits)
    if not reaching:
        return []
    names = ", ".join(sorted(each.substance.name for each in reaching))
    rows = [counted(share, limit.ELICITS.value / least) for share, least in reaching.items()]
    trail = supplementary("EUH208", RULE_NAMED, limit.ELICITS, rows, max(each.part for each in rows))
    return [Supplement("EUH208", f"Contains {names}. May produce an allergic reaction.", trail)]


def _row(share: Share, endpoint: Endpoint) -> Row | None:
    worst = share.substance.worst(endpoint)
    return next((row for row in ROWS[endpoint] if worst and row.having == worst.category.code), None)


def _below(share: Share, endpoint: Endpoint) -> Fraction | None:
    """Return the elicitation limit, None for no sensitiser and for one that classes the mixture by itself."""
    row = _row(share, endpoint)
    if row is None:
        return None
    classing = row.limit.value / weight(share, endpoint, row.gives, row.limit)
    if share.percent >= classing:
        return None
    return classing / 10 if classing < _LOW_SPECIFIC else _general(row).value


def _general(row: Row) -> Limit:
    return limit.ELICITS_1A if row.having.endswith("1A") else limit.ELICITS
