"""Fire, oxidising and metals: only specific limits are calculated; everything else is asked of a test or a sheet."""

from fractions import Fraction

from chemistry.science.hazard import limit
from chemistry.science.hazard.category import PHYSICAL, Endpoint
from chemistry.science.hazard.limit import Limit
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.substance import Band, Hazard
from chemistry.science.hazard.trail import Missing, Trail, counted, highest

ASKED = {
    Endpoint.OXIDISING: (limit.OXIDISING_ASKED, "oxidising"),
    Endpoint.FLAMMABLE: (limit.FLAMMABLE_ASKED, "flammable"),
    Endpoint.METALS: (limit.METALS_ASKED, "corrosive to metals"),
}


def physical(point: Point) -> list[Trail]:
    """Return the trails of specific limits and of a pure substance, which keeps its own class. Source: CLP Annex VI."""
    found: list[Trail] = []
    for share in point.shares:
        for endpoint in PHYSICAL:
            found.extend(_by_band(share, each) for each in share.substance.bands_at.get(endpoint, ()))
            found.extend(_pure(share, each) for each in share.substance.hazard_at.get(endpoint, ()))
    return [each for each in found if each.fired]


def _by_band(share: Share, band: Band) -> Trail:
    own = Limit(f"{band.category.code} of {share.substance.name}", band.start, band.origin)
    return highest(band.category, "specific limit of the substance", own, [counted(share)], band.statement)


def _pure(share: Share, hazard: Hazard) -> Trail:
    whole = Limit(f"{share.substance.name} by itself", Fraction(100), hazard.origin)
    return highest(hazard.category, "the substance by itself", whole, [counted(share)], hazard.statement)


def unasked(point: Point) -> list[Missing]:
    """Name what composition cannot answer: a mixture with an oxidising, flammable or metal-corroding ingredient."""
    found = []
    for endpoint, (least, words) in ASKED.items():
        names = sorted(each.substance.name for each in point.shares if _open(point, each, endpoint, least))
        if names:
            said = f"Whether it is {words} is not calculated from {', '.join(names)}: see the supplier's sheet."
            found.append(Missing(f"{endpoint.value}.not_calculated", said))
    return found


def _open(point: Point, share: Share, endpoint: Endpoint, least: Limit) -> bool:
    if not share.substance.hazard_at.get(endpoint) or share.substance.bands_at.get(endpoint):
        return False
    dissolved_oxidiser = endpoint is Endpoint.OXIDISING and not point.solid
    return least.value <= share.percent < 100 and not dissolved_oxidiser
