"""Acute toxicity of a mixture by route: the additivity formula, with what is unknown kept in sight."""

from dataclasses import dataclass
from fractions import Fraction

from chemistry.science.hazard.category import Endpoint, of
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.limit import CUT_ACUTE_4, CUT_ACUTE_SEVERE, UNKNOWN_CORRECTED, UNKNOWN_STATED
from chemistry.science.hazard.mixture import Point, Regime, Share
from chemistry.science.hazard.origin import How, Origin
from chemistry.science.hazard.substance import Substance
from chemistry.science.hazard.trail import Trail, counted

ORAL, DERMAL = Endpoint.ACUTE_ORAL, Endpoint.ACUTE_DERMAL
GAS, VAPOUR, DUST = Endpoint.ACUTE_GAS, Endpoint.ACUTE_VAPOUR, Endpoint.ACUTE_DUST
ROUTES = (ORAL, DERMAL, GAS, VAPOUR, DUST)
UNIT = {ORAL: "mg/kg", DERMAL: "mg/kg", GAS: "ppm", VAPOUR: "mg/l", DUST: "mg/l"}


def _row(*figures: str) -> tuple[Fraction, ...]:
    return tuple(Fraction(each) for each in figures)


# Upper bounds of categories 1 to 4, inclusive: CLP Annex I Table 3.1.1, read. Category 5 is UN GHS only, read.
BOUNDS = {
    ORAL: _row("5", "50", "300", "2000"),
    DERMAL: _row("50", "200", "1000", "2000"),
    GAS: _row("100", "500", "2500", "20000"),
    VAPOUR: _row("0.5", "2", "10", "20"),
    DUST: _row("0.05", "0.5", "1", "5"),
}
UN_CATEGORY_5 = {ORAL: Fraction(5000), DERMAL: Fraction(5000)}
# The estimate a category alone stands for: CLP Annex I Table 3.1.2, read in a federal guide to CLP.
CONVERTED = {
    ORAL: _row("0.5", "5", "100", "500"),
    DERMAL: _row("5", "50", "300", "1100"),
    GAS: _row("10", "100", "700", "4500"),
    VAPOUR: _row("0.05", "0.5", "3", "11"),
    DUST: _row("0.005", "0.05", "0.5", "1.5"),
}
_FORMULA = Origin("CLP Annex I 3.1.3.6, formula read in the UN worked examples", How.READ)


@dataclass(frozen=True)
class Estimate:
    """What an ingredient brings into the formula, and the category it is in by itself."""

    ate: Fraction
    category: int


def band(route: Endpoint, ate: Fraction, regime: Regime = Regime.CLP) -> int | None:
    """Return the category of an acute toxicity estimate, bounds inclusive; None above the last one of the regime."""
    for number, bound in enumerate(BOUNDS[route], start=1):
        if ate <= bound:
            return number
    fifth = UN_CATEGORY_5.get(route)
    return 5 if regime is Regime.UN_GHS and fifth is not None and ate <= fifth else None


def estimate(substance: Substance, route: Endpoint, regime: Regime) -> Estimate | None:
    """Return what counts for one substance: harmonised estimate, else own value, else the one converted.

    An own value outside the law's category counts only when it is worse and that category is a minimum. None: no
    category by this route, so it stays out of the sum. Source: CLP Annex VI 1.2.1 and Annex I 3.1.3.3, read.
    """
    known = substance.toxic_by.get(route)
    if known is None:
        return None
    own = band(route, known.ate, regime) if known.ate is not None else None
    listed = known.category
    if known.ate is not None and own is not None:
        worse = listed is not None and own < listed
        if listed is None or own == listed or known.harmonised or (worse and known.minimum):
            return Estimate(known.ate, own)
    return Estimate(CONVERTED[route][listed - 1], listed) if listed is not None else None


def unknown(point: Point, route: Endpoint) -> Fraction:
    """Return the % w/w nobody knows this route's toxicity of, counting ingredients of 1 % and more, at most 100."""
    shares = [each.percent for each in point.shares if route in each.substance.no_data]
    stated = [each for each in shares if each >= UNKNOWN_STATED.value]
    return min(sum(stated, Fraction(0)), Fraction(100))


def by_route(point: Point, route: Endpoint) -> list[Trail]:
    """Return the trail for one route: (100 - unknown)/ATEmix = sum(C/ATE), the unknown taken off above 10 %.

    C in % w/w, ATE in mg/kg (mg/l, ppm). The result is never worse than the worst ingredient by itself, which the
    converted values would otherwise allow. Source: CLP Annex I 3.1.3.6; formula read in the UN worked examples.
    """
    counting = _counting(point, route)
    if not counting:
        return []
    unseen = unknown(point, route)
    known = 100 - unseen if unseen > UNKNOWN_CORRECTED.value else Fraction(100)
    load = sum((share.percent / own.ate for share, own in counting), Fraction(0))
    mix = max(known / load, min(own.ate for _, own in counting))
    number = band(route, mix, point.policy.regime)
    worst = min(own.category for _, own in counting)
    given = of(route, f"Acute Tox. {max(number, worst) if number else _last(point, route)}")
    rule = f"{shown(known)} % / ATEmix = sum of share / ATE"
    parts = tuple(counted(share, 1 / own.ate) for share, own in counting)
    bound = _bound(route, given.rank)
    return [
        Trail(
            given.code, route, given.rank, given.statement, rule, parts, mix, bound, UNIT[route],
            number is not None, _FORMULA, at_most=True,
        )
    ]  # fmt: skip


def _counting(point: Point, route: Endpoint) -> list[tuple[Share, Estimate]]:
    pairs = ((share, estimate(share.substance, route, point.policy.regime)) for share in point.shares)
    return [(share, own) for share, own in pairs if own is not None and share.percent >= _cut(own.category)]


def _cut(category: int) -> Fraction:
    return (CUT_ACUTE_SEVERE if category <= 3 else CUT_ACUTE_4).value


def _last(point: Point, route: Endpoint) -> int:
    return 5 if point.policy.regime is Regime.UN_GHS and route in UN_CATEGORY_5 else 4


def _bound(route: Endpoint, category: int) -> Fraction:
    return UN_CATEGORY_5[route] if category == 5 else BOUNDS[route][category - 1]


def acute(point: Point) -> list[Trail]:
    """Return the trails of every route; a powder is breathed as dust, never as vapour or gas. Source: UN 3.1.3."""
    routes = (ORAL, DERMAL, DUST) if point.solid else ROUTES
    return [trail for route in routes for trail in by_route(point, route)]
