"""Supplementary statements that follow from the rest: EUH071, EUH210 and the share of unknown acute toxicity."""

from collections.abc import Iterable
from fractions import Fraction

from chemistry.science.hazard import acute, limit
from chemistry.science.hazard.category import PHYSICAL, Endpoint
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.limit import Limit
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.trail import Supplement, Trail, counted, supplementary

SENSES = (Endpoint.RESPIRATORY_SENSITISATION, Endpoint.SKIN_SENSITISATION)
BREATHED = (Endpoint.ACUTE_GAS, Endpoint.ACUTE_VAPOUR, Endpoint.ACUTE_DUST)
ROUTE_WORDS = {Endpoint.ACUTE_ORAL: "oral", Endpoint.ACUTE_DERMAL: "dermal"}


def airways(point: Point, found: Iterable[Trail]) -> list[Supplement]:
    """Return EUH071: a mixture that burns skin or is toxic to breathe holds an ingredient that corrodes airways,
    or it burns skin, can be breathed as dust or vapour, and nobody has breathing data for what makes it corrosive.

    Source: CLP Annex II 1.2.6, read.
    """
    given = list(found)
    corrosive = next((each for each in given if each.endpoint is Endpoint.SKIN and each.rank <= 4), None)
    inhaled = next((each for each in given if each.endpoint in BREATHED), None)
    cause = corrosive or inhaled
    if cause is None:
        return []
    listed = any("EUH071" in each.substance.supplements for each in point.shares if _in(each, cause))
    blind = corrosive is not None and any(_breathable(each, point) for each in point.shares if _in(each, corrosive))
    return [Supplement("EUH071", "Corrosive to the respiratory tract.", cause)] if listed or blind else []


def _in(share: Share, trail: Trail) -> bool:
    return any(each.cas == share.substance.cas for each in trail.counted)


def _breathable(share: Share, point: Point) -> bool:
    if share.substance.breathed_data or any(each in share.substance.toxic_by for each in BREATHED):
        return False
    return point.solid or share.substance.volatile


def sheet(point: Point, found: Iterable[Trail]) -> list[Supplement]:
    """Return EUH210 for a mixture without a class that still holds something to tell.

    From 0.1 % of a sensitiser, Carc. 2, Repr. or lactation, from its elicitation limit if lower; 1 % of anything else
    with a health or environmental class; % w/w. Source: CLP Annex II 2.10, read.
    """
    if any(each.fired for each in found):
        return []
    for share in point.shares:
        least = _least(share)
        if least is not None and share.percent >= least.value:
            rule = "data sheet on request, mixture without a class"
            trail = supplementary("EUH210", rule, least, [counted(share)], share.percent)
            return [Supplement("EUH210", "Safety data sheet available on request.", trail)]
    return []


def _least(share: Share) -> Limit | None:
    substance = share.substance
    if any(hazard.category.code.endswith("1A") for each in SENSES for hazard in substance.hazard_at.get(each, ())):
        return limit.ELICITS_1A
    if any(substance.worst(each) for each in SENSES):
        return limit.SHEET_SENSITISER
    if any(substance.worst(each) for each in (Endpoint.CANCER, Endpoint.REPRODUCTION, Endpoint.LACTATION)):
        return limit.SHEET_CMR
    others = [each for each in (*substance.hazard_at, *substance.toxic_by) if each not in PHYSICAL]
    return limit.SHEET_OTHER if others else None


def unknown_toxicity(point: Point) -> list[Supplement]:
    """Return the statement of unknown acute toxicity from 1 % w/w, routes with the same share together.

    Source: CLP Annex I 3.1.3.6.2, wording read in the UN worked examples.
    """
    routes: dict[Fraction, list[str]] = {}
    for route in (*ROUTE_WORDS, Endpoint.ACUTE_DUST, Endpoint.ACUTE_VAPOUR):
        share = acute.unknown(point, route)
        words = ROUTE_WORDS.get(route, "inhalation")
        if share and words not in routes.setdefault(share, []):
            routes[share].append(words)
    return [
        Supplement(
            "ATE.unknown",
            f"{shown(share)} % of the mixture consists of ingredients of unknown acute toxicity ({', '.join(words)}).",
        )
        for share, words in sorted(routes.items(), reverse=True)
        if share
    ]
