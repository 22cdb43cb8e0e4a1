"""What is not known about a mixture and could make it worse: never read as harmless."""

from chemistry.science.hazard import aquatic, physical
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.limit import NO_DATA_ASKED
from chemistry.science.hazard.mixture import UNNAMED, Mixture, Point
from chemistry.science.hazard.trail import Missing

WORDS = {each: each.value.replace("_", " ") for each in Endpoint}


def gaps(mixture: Mixture, point: Point) -> tuple[Missing, ...]:
    """Return everything missing: endpoints without data, what is not named, M-factors, pH, physical hazards."""
    return (
        *_no_data(point),
        *aquatic.unknown_m(point),
        *_ph(mixture, point),
        *physical.unasked(point),
    )


def _no_data(point: Point) -> list[Missing]:
    found = []
    for share in point.shares:
        if share.substance is UNNAMED:
            found.append(Missing("composition.unnamed", f"Up to {shown(share.percent)} % of it is not named."))
        elif share.substance.no_data and share.percent >= NO_DATA_ASKED.value:
            lacking = ", ".join(WORDS[each] for each in Endpoint if each in share.substance.no_data)
            words = f"{share.substance.name} ({shown(share.percent)} %): no data for {lacking}."
            found.append(Missing("substance.no_data", words))
    return found


def _ph(mixture: Mixture, point: Point) -> list[Missing]:
    """Ask for the pH where an ingredient may push it to 2 or 11.5 and beyond."""
    if point.solid or mixture.ph is not None:
        return []
    causes = [
        share.substance.name
        for share in point.shares
        if share.substance.extreme_ph_from is not None and share.percent >= share.substance.extreme_ph_from
    ]
    if not causes:
        return []
    words = (
        f"The pH is not known and matters because of {', '.join(sorted(causes))}: at 2 and below or 11.5 and above it"
        " would burn skin and eyes. Measure it."
    )
    return [Missing("ph.missing", words)]
