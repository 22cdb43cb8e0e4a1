"""Toxic gas from contact with acids: EUH031 by the law's own limit, else by a stated screen."""

from fractions import Fraction

from chemistry.science.hazard import limit
from chemistry.science.hazard.limit import Limit
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.origin import Origin
from chemistry.science.hazard.trail import Counted, Supplement, Trail, counted, supplementary

WORDS = "Contact with acids liberates toxic gas."
_SCREEN = "a screen of this service, not law: litres of gas one kilogram could give"


def litres_per_percent(share: Share) -> Fraction:
    """Return litres of gas at 20 °C one kg of mixture gives per % w/w of an ingredient: 10 / M x moles x 24.06.

    M in g/mol; 0 without a gas or its molar mass. Source: ideal gas law. So one litre is reached at 0.395 % of
    metabisulfite, at 0.524 % of anhydrous sulfite.
    """
    gas, molar = share.substance.gas, share.substance.molar_mass
    if gas is None or molar is None:
        return Fraction(0)
    return 10 / molar * gas.moles * limit.GAS_MOLAR_LITRES.value


def from_acid(point: Point) -> list[Supplement]:
    """Return EUH031 when an ingredient reaches the law's own limit, or the screen of one litre per kg is reached."""
    trails, screened = [], []
    for share in point.shares:
        gas = share.substance.gas
        if gas is not None and gas.start is not None:
            trails.append(_own(share, gas.start, gas.origin))
        elif gas is not None:
            screened.append(share)
    if screened and point.policy.gas_screen:
        trails.append(_screen(screened))
    fired = next((each for each in trails if each.fired), None)
    return [Supplement("EUH031", WORDS, fired)] if fired else []


def _own(share: Share, start: Fraction, origin: Origin) -> Trail:
    own = Limit(f"EUH031 for {share.substance.name}", start, origin)
    return supplementary("EUH031", "specific limit of the substance", own, [counted(share)], share.percent)


def _screen(shares: list[Share]) -> Trail:
    rows: list[Counted] = [counted(each, litres_per_percent(each)) for each in shares]
    total = sum((each.part for each in rows), Fraction(0))
    return supplementary("EUH031", _SCREEN, limit.GAS_LITRES, rows, total, unit="L/kg")
