"""What is not known about a mixture and could make it worse: never read as harmless."""

from fractions import Fraction

from chemistry.science.hazard import aquatic, physical
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.corrosion import CORR_1, CORR_1A, CORR_1B, CORR_1C, DAMAGE
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.limit import NO_DATA_ASKED
from chemistry.science.hazard.mixture import UNNAMED, Mixture, Point
from chemistry.science.hazard.origin import How
from chemistry.science.hazard.substance import Band, Hazard, Substance
from chemistry.science.hazard.trail import Missing

_BURNS = (CORR_1, CORR_1A, CORR_1B, CORR_1C, DAMAGE)
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
        if (least := _may_push_from(share.substance)) is not None and share.percent >= least
    ]
    if not causes:
        return []
    words = (
        f"The pH is not known and matters because of {', '.join(sorted(causes))}: at 2 and below or 11.5 and above it"
        " would burn skin and eyes. Measure it."
    )
    return [Missing("ph.missing", words)]


def _may_push_from(substance: Substance) -> Fraction | None:
    """Return the % w/w from which it may push a pH to an extreme, None for never.

    What a darkroom says burns may be an acid or a base: its pH is asked for until it says from which share on.
    """
    if substance.extreme_ph_from is not None:
        return substance.extreme_ph_from
    rows: tuple[Hazard | Band, ...] = (*substance.hazards, *substance.bands)
    burns = any(each.origin.how is How.DARKROOM and each.category in _BURNS for each in rows)
    return NO_DATA_ASKED.value if burns else None
