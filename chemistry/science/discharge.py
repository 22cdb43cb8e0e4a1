"""A bath let down a drain: concentration after dilution, against no-effect concentrations and the site's limits.

Dilution is shown, not offered: for a developer it takes millions of litres to the litre. A sewer with a treatment
plant, by its own rule, or the waste container is the way.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from chemistry.science.oxygendemand import demand

SILVER = "7440-22-4"
ACUTE_FACTOR = Decimal(1000)  # ECHA guidance R.10 on acute data alone, from memory
_ECHA = "ECHA registration dossier 14417 (hydroquinone), ecotoxicological summary"
_SIDS = "OECD initial assessment profile of hydroquinone"


@dataclass(frozen=True)
class Threshold:
    """A concentration in mg/L that is not to be passed, for what, and its source. ``place``: river, plant, sewer."""

    cas: str
    name: str
    mg_per_l: Decimal
    place: str
    source: str
    status: str = "read"


NO_EFFECT = (
    Threshold("123-31-9", "hydroquinone", Decimal("0.00057"), "river", f"predicted no-effect, {_ECHA}"),
    Threshold("123-31-9", "hydroquinone", Decimal("0.001"), "river", f"concern level, {_SIDS}"),
    Threshold("123-31-9", "hydroquinone", Decimal("0.134"), "river", f"half of the water fleas in 48 h, {_ECHA}"),
    Threshold("123-31-9", "hydroquinone", Decimal("0.71"), "plant", f"predicted no-effect, {_ECHA}"),
    Threshold(
        "64-19-7", "acetic acid", Decimal(65) / ACUTE_FACTOR, "river", "water flea EC50 65 mg/L over 1000", "computed"
    ),
    Threshold(
        "25646-71-3", "colour developing agent CD-3", Decimal("0.4") / ACUTE_FACTOR, "river",
        "algae EC50 0.4 mg/L over 1000", "computed",
    ),
)  # fmt: skip


@dataclass(frozen=True)
class Limits:
    """The site's own limits by its drain rule: mg/L by CAS number, oxygen demand in mg/L, pH. None: not set."""

    mg_per_l: Mapping[str, Decimal]
    oxygen_mg_per_l: Decimal | None = None
    lowest_ph: Decimal | None = None
    highest_ph: Decimal | None = None
    source: str = "the darkroom's drain rule"


@dataclass(frozen=True)
class Against:
    """One figure against one threshold: mg/L before and after, the fold it is over, and the dilution it would take."""

    threshold: Threshold
    before_mg_per_l: Decimal
    after_mg_per_l: Decimal
    over: bool
    dilution_needed: Decimal
    litres_needed: Decimal


@dataclass(frozen=True)
class Discharge:
    """Everything compared. ``fold`` is how many times the volume grows; ``unknown`` has no threshold: not harmless."""

    fold: Decimal
    against: tuple[Against, ...]
    unknown: tuple[str, ...]
    ph_words: str

    @property
    def over(self) -> bool:
        """Say whether any threshold is passed or the pH lies outside the site's limits."""
        return any(each.over for each in self.against) or bool(self.ph_words)


def dilution_needed(g_per_l: Decimal, threshold_mg_per_l: Decimal) -> Decimal:
    """Return how many times the volume would have to grow: c / threshold, at least 1.

    5 g/L of hydroquinone against 0.57 µg/L: 8.8 million. Threshold above 0. Source: derived.
    """
    return max(g_per_l * 1000 / threshold_mg_per_l, Decimal(1))


def against(
    g_per_l: Mapping[str, Decimal],
    litres: Decimal,
    water_l: Decimal,
    *,
    limits: Limits | None = None,
    silver_mg_per_l: Decimal | None = None,
    ph: Decimal | None = None,
) -> Discharge:
    """Compare a bath, g/L by CAS number, let down with so much water, with every threshold known and the site's limits.

    c = c0 x litres / (litres + water). Equal to a threshold is within it. ``ph`` is that of what goes down, measured.
    Litres above 0, water from 0 up. Source: derived; thresholds each with its own.
    """
    if litres <= 0 or water_l < 0:
        raise ValueError("a bath has a volume, and water is from 0 up")
    site = limits or Limits({})
    held = {cas: grams * 1000 for cas, grams in g_per_l.items() if grams > 0}
    if silver_mg_per_l is not None:
        held[SILVER] = silver_mg_per_l
    fold = (litres + water_l) / litres
    bars = [*NO_EFFECT, *_site(site)]
    rows = [_against(bar, held[bar.cas], litres, fold) for bar in bars if bar.cas in held]
    if site.oxygen_mg_per_l is not None:
        bar = Threshold("", "oxygen demand", site.oxygen_mg_per_l, "sewer", site.source, "told")
        rows.append(_against(bar, demand(g_per_l).total * 1000, litres, fold))
    unknown = tuple(sorted(set(held) - {bar.cas for bar in bars}))
    return Discharge(fold.quantize(Decimal("0.01")), tuple(rows), unknown, _ph(ph, site))


def _site(limits: Limits) -> list[Threshold]:
    return [Threshold(cas, cas, most, "sewer", limits.source, "told") for cas, most in limits.mg_per_l.items()]


def _against(bar: Threshold, before: Decimal, litres: Decimal, fold: Decimal) -> Against:
    needed = dilution_needed(before / 1000, bar.mg_per_l)
    after = before / fold
    return Against(
        bar, _figures(before), _figures(after), after > bar.mg_per_l, _up(needed), _up((needed - 1) * litres)
    )


def _ph(ph: Decimal | None, limits: Limits) -> str:
    if ph is None and (limits.lowest_ph, limits.highest_ph) != (None, None):
        return "The site limits the pH, and none was measured."
    if ph is not None and limits.lowest_ph is not None and ph < limits.lowest_ph:
        return f"pH {ph} is below the {limits.lowest_ph} the site takes."
    if ph is not None and limits.highest_ph is not None and ph > limits.highest_ph:
        return f"pH {ph} is above the {limits.highest_ph} the site takes."
    return ""


def _figures(value: Decimal) -> Decimal:
    """Round to four significant figures: what is let down spans seven powers of ten."""
    return Decimal(f"{value:.3e}") if value else Decimal(0)


def _up(value: Decimal) -> Decimal:
    """Round up to the whole, so that the dilution shown does reach the threshold."""
    return value.to_integral_value(ROUND_CEILING)
