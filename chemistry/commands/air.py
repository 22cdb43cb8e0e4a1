"""The air shut in with a liquid: what its oxygen may have done, as a bound that never sets a date."""

from datetime import datetime
from decimal import Decimal

from chemistry.models import Vessel
from chemistry.science import blend, oxidation
from chemistry.science.dilution import parse
from chemistry.science.formula import Rules
from darkroom_service.quantity import millilitres

HYDROQUINONE = "123-31-9"
SULFITE = "7757-83-7"
MOST_OXYGEN = Decimal(99999)  # mmol/L: far beyond what ends any bath; the last drop of a large bottle passes it
_STEP = Decimal("0.0001")


def bound(vessel: Vessel, rules: Rules, at: datetime) -> oxidation.Bound | None:
    """Return the range of hydroquinone left, by the air shut in and let through; None for a bath without it."""
    if vessel.batch is None or vessel.closed_at is None or vessel.contents == 0:
        return None
    diluted = parse(vessel.batch.dilution).stock_share
    strength = {each.cas: each.g_per_l * diluted.numerator / diluted.denominator for each in rules.composition}
    if HYDROQUINONE not in strength:
        return None
    days = Decimal(max((at - vessel.closed_at).total_seconds(), 0)) / 86400
    return oxidation.bound(
        [_opening(vessel.contents)], *_bottle(vessel), days, strength[HYDROQUINONE],
        sulfite_g_per_l=strength.get(SULFITE, Decimal(0)), start=_dose(vessel),
        worst_left_at_pass=Decimal(vessel.worst_left_at_pass),
    )  # fmt: skip


def dose(vessel: Vessel, at: datetime, contents: int) -> oxidation.Dose:
    """Return the oxygen taken up until an instant, the vessel having stood closed over ``contents`` (0.1 mL)."""
    if vessel.closed_at is None or contents <= 0:
        return _dose(vessel)
    days = Decimal(max((at - vessel.closed_at).total_seconds(), 0)) / 86400
    return oxidation.dose([_opening(contents)], *_bottle(vessel), days, _dose(vessel))


def _dose(vessel: Vessel) -> oxidation.Dose:
    return oxidation.Dose(Decimal(vessel.oxygen_low), Decimal(vessel.oxygen_high))


def _bottle(vessel: Vessel) -> tuple[Decimal, str]:
    return millilitres(vessel.nominal), vessel.material


def _opening(contents: int) -> oxidation.Opening:
    return oxidation.Opening(Decimal(0), millilitres(contents))


def keep(vessel: Vessel, taken: oxidation.Dose) -> None:
    """Set the dose on the vessel's row."""
    vessel.oxygen_low, vessel.oxygen_high = (min(each, MOST_OXYGEN).quantize(_STEP) for each in (taken.low, taken.high))


def mix(target: Vessel, source: Vessel, volume: int, at: datetime) -> oxidation.Dose:
    """Return the oxygen per litre once ``volume`` of the source has joined what stands in the target."""
    there, comes = dose(target, at, target.contents), dose(source, at, source.contents)
    day = at.date()  # of no account here
    parts = (blend.Contents(target.contents, 0, 0, day, there), blend.Contents(volume, 0, 0, day, comes))
    return blend.combine(*parts).oxygen


def one_more(vessel: Vessel) -> oxidation.Dose:
    """Return the dose with one airful more, over what stands in the vessel now."""
    return oxidation.dose([_opening(vessel.contents)], *_bottle(vessel), oxidation.AIR_DAYS, _dose(vessel))
