"""Skin and eye: sums with ten for one, ingredients that do not add up, and pH extremes."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from chemistry.science.hazard import limit
from chemistry.science.hazard.category import Category, Endpoint, of
from chemistry.science.hazard.limit import Limit
from chemistry.science.hazard.mixture import Point, Share
from chemistry.science.hazard.substance import Band, Substance
from chemistry.science.hazard.trail import Counted, Trail, counted, highest, summed

SKIN, EYE = Endpoint.SKIN, Endpoint.EYE
CORR_1A, CORR_1, CORR_1B, CORR_1C, IRRIT = (
    of(SKIN, code) for code in ("Skin Corr. 1A", "Skin Corr. 1", "Skin Corr. 1B", "Skin Corr. 1C", "Skin Irrit. 2")
)
DAMAGE, EYE_IRRIT = of(EYE, "Eye Dam. 1"), of(EYE, "Eye Irrit. 2")
_ADDS = "additive, a specific limit weighted as the general one"

Reach = Callable[[Share], Fraction | None]


def reach(bands: Sequence[Band], rank: int, general: Limit | None) -> Fraction | None:
    """Return the % w/w from which one ingredient alone would give a category of this rank or worse; None: never.

    Its own limits come first: the lowest one of that rank, or where its milder limits end because a worse class
    begins; else the general limit of its class. Source: SUM(Ci/limit) >= 1, agency guidance, from memory.
    """
    reached = [each.start for each in bands if each.category.rank <= rank]
    if reached:
        return min(reached)
    if general is None:
        return None
    ends = [each.end for each in bands if each.end is not None]
    return max(ends) if ends else general.value


def skin(point: Point) -> list[Trail]:
    """Return the trails for skin: corrosive from a sum of 5 %, irritant from 10 % with corrosives counted tenfold.

    Shares in % w/w, ingredients from 1 % or their own lower limit. Source: CLP Annex I Tables 3.2.3 and 3.2.4, same
    numbers read in SOR/2015-17; the order 1A, 1, 1B, 1C from memory.
    """
    adding, single = _split(point, SKIN)
    worst = [_skin_sum(adding, each, each) for each in (CORR_1A, CORR_1B, CORR_1C)]
    if any(_is(each.substance, CORR_1) for each in adding):
        worst[1:] = [_skin_sum(adding, CORR_1, CORR_1C)]
    irritant = _sum(
        adding, IRRIT, "Table 3.2.3: 10 x Skin Corr. 1 + Skin Irrit. 2", limit.SKIN_IRRITANT, _skin_irritant
    )
    alone = [
        _alone(single, CORR_1, "Table 3.2.4", limit.SKIN_ALONE_CORROSIVE, _is_corrosive),
        _alone(single, IRRIT, "Table 3.2.4", limit.SKIN_ALONE_IRRITANT, lambda each: _is(each, IRRIT)),
    ]
    return [*(each for each in (*worst, irritant, *alone) if each.counted), *_extreme(point, CORR_1)]


def eye(point: Point, burning: Trail | None) -> list[Trail]:
    """Return the trails for the eye: damaging from a sum of 3 %, irritant from 10 % with damaging counted tenfold.

    An ingredient that is both skin corrosive and eye damaging counts once. ``burning`` is why the mixture is Skin
    Corr. 1, which damages the eye as well. Source: CLP Annex I Tables 3.3.3 and 3.3.4, same numbers read in Canada.
    """
    adding, single = _split(point, EYE)
    damage = _sum(adding, DAMAGE, "Table 3.3.3: Skin Corr. 1 + Eye Dam. 1", limit.EYE_DAMAGING, _eye_damaging)
    rule = "Table 3.3.3: 10 x (Skin Corr. 1 + Eye Dam. 1) + Eye Irrit. 2"
    irritant = _sum(adding, EYE_IRRIT, rule, limit.EYE_IRRITANT, _eye_irritant)
    alone = [
        _alone(single, DAMAGE, "Table 3.3.4", limit.EYE_ALONE_DAMAGING, _harms_eye),
        _alone(single, EYE_IRRIT, "Table 3.3.4", limit.EYE_ALONE_IRRITANT, lambda each: _is(each, EYE_IRRIT)),
    ]
    found = [*(each for each in (damage, irritant, *alone) if each.counted), *_extreme(point, DAMAGE)]
    if burning is not None:
        rule = f"a mixture that burns the skin damages the eye; {burning.rule}"
        found.append(
            replace(burning, code=DAMAGE.code, endpoint=EYE, rank=DAMAGE.rank, statement=DAMAGE.statement, rule=rule)
        )
    return found


def _split(point: Point, endpoint: Endpoint) -> tuple[list[Share], list[Share]]:
    adding = [each for each in point.shares if not each.substance.non_additive and each.percent >= _cut(each, endpoint)]
    return adding, [each for each in point.shares if each.substance.non_additive]


def _cut(share: Share, endpoint: Endpoint) -> Fraction:
    own = [each.start for each in share.substance.bands_at.get(endpoint, ())]
    return min([limit.CUT_SKIN_EYE.value, *own])


def _sum(shares: Iterable[Share], given: Category, rule: str, general: Limit, reached: Reach) -> Trail:
    rows = []
    for share in shares:
        from_percent = reached(share)
        if from_percent is not None:
            rows.append(counted(share, general.value / from_percent))
    words = f"{rule} ({_ADDS})" if any(row.weight not in (1, 10) for row in rows) else rule
    return summed(given, words, general, rows)


def _skin_sum(shares: Iterable[Share], given: Category, upto: Category) -> Trail:
    def reached(share: Share) -> Fraction | None:
        worst = share.substance.worst(SKIN)
        fits = worst is not None and worst.category.rank <= upto.rank
        return reach(share.substance.bands_at.get(SKIN, ()), upto.rank, limit.SKIN_CORROSIVE if fits else None)

    return _sum(shares, given, f"Table 3.2.3: sum up to {upto.code}", limit.SKIN_CORROSIVE, reached)


def _skin_irritant(share: Share) -> Fraction | None:
    worst = share.substance.worst(SKIN)
    general = None
    if worst is not None:
        general = limit.SKIN_IRRITANT if worst.category is IRRIT else limit.SKIN_CORROSIVE_IRRITATES
    return reach(share.substance.bands_at.get(SKIN, ()), IRRIT.rank, general)


def _eye_damaging(share: Share) -> Fraction | None:
    general = limit.EYE_DAMAGING if _harms_eye(share.substance) else None
    return reach(share.substance.bands_at.get(EYE, ()), DAMAGE.rank, general)


def _eye_irritant(share: Share) -> Fraction | None:
    general = None
    if _harms_eye(share.substance):
        general = limit.EYE_DAMAGING_IRRITATES
    elif _is(share.substance, EYE_IRRIT):
        general = limit.EYE_IRRITANT
    return reach(share.substance.bands_at.get(EYE, ()), EYE_IRRIT.rank, general)


def _is(substance: Substance, given: Category) -> bool:
    worst = substance.worst(given.endpoint)
    return worst is not None and worst.category is given


def _is_corrosive(substance: Substance) -> bool:
    worst = substance.worst(SKIN)
    return worst is not None and worst.category is not IRRIT


def _harms_eye(substance: Substance) -> bool:
    return _is_corrosive(substance) or _is(substance, DAMAGE)


def _alone(
    shares: Iterable[Share], given: Category, rule: str, general: Limit, concerns: Callable[[Substance], bool]
) -> Trail:
    rows: list[Counted] = [counted(each) for each in shares if concerns(each.substance)]
    return highest(given, f"{rule}: not additive, each by itself", general, rows)


def _extreme(point: Point, given: Category) -> list[Trail]:
    if point.extreme_ph is None or point.solid:
        return []
    value = Fraction(point.extreme_ph)
    acid = value <= limit.PH_ACID.value
    bound = limit.PH_ACID if acid else limit.PH_BASE
    rule = "extreme pH, until acid reserve and in-vitro tests both say otherwise"
    return [
        Trail(
            given.code, given.endpoint, given.rank, given.statement, rule, (), value, bound.value, "pH", True,
            bound.origin, at_most=acid,
        )
    ]  # fmt: skip
