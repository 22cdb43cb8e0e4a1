"""The classes of a mixture: every rule on its worst and its best composition, with the trail of each."""

from dataclasses import dataclass

from chemistry.science.hazard import acute, aquatic, cmr, corrosion, gap, gas, physical, sensitisation, stot, supplement
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.mixture import Mixture, Point, Policy, Regime
from chemistry.science.hazard.substance import Flag
from chemistry.science.hazard.trail import Missing, Supplement, Trail

LAST_CORROSIVE = corrosion.CORR_1C.rank
CALCULATED = "Calculated, not tested; the supplier's sheet and local law prevail."


@dataclass(frozen=True)
class Case:
    """One composition judged: the class of each endpoint that has one, every trail, supplementary statements."""

    given: tuple[Trail, ...]
    trails: tuple[Trail, ...]
    supplements: tuple[Supplement, ...]

    @property
    def codes(self) -> tuple[str, ...]:
        """Return the classes with their statements, such as 'Eye Dam. 1 H318'."""
        return tuple(f"{each.code} {each.statement}" for each in self.given)


@dataclass(frozen=True)
class Classification:
    """The answer: ``worst`` is what the label says, ``best`` the mildest it could be, ``missing`` what is not known."""

    worst: Case
    best: Case
    missing: tuple[Missing, ...]
    flags: tuple[tuple[str, Flag], ...]
    policy: Policy

    @property
    def known(self) -> bool:
        """Say whether nothing is missing."""
        return not self.missing

    @property
    def summary(self) -> str:
        """Return one sentence; it never says harmless while something is missing."""
        found = ", ".join(self.worst.codes)
        lacking = " ".join(each.words for each in self.missing)
        if found:
            return f"{found}. {CALCULATED}" + (f" Not known: {lacking}" if lacking else "")
        if lacking:
            return f"Not known. No class follows from what is known, but this is missing: {lacking} {CALCULATED}"
        return f"No class at this strength. {CALCULATED}"


def classify(mixture: Mixture, policy: Policy | None = None) -> Classification:
    """Return the classes of a mixture under CLP or UN GHS, worst and best case, each with its trail.

    Shares in % w/w of what is handled. Source: CLP Annex I parts 3 and 4; see each rule for what was read.
    """
    policy = policy or Policy()
    point = mixture.worst(policy)
    worst = judge(point)
    best = judge(mixture.best(policy)) if mixture.ranged else worst
    flags = tuple((share.substance.name, flag) for share in point.shares for flag in share.substance.flags)
    return Classification(worst, best, gap.gaps(mixture, point), flags, policy)


def judge(point: Point) -> Case:
    """Return the classes of one composition without ranges."""
    skin = corrosion.skin(point)
    burning = next((each for each in skin if each.fired and each.rank <= LAST_CORROSIVE), None)
    trails = (
        *physical.physical(point),
        *acute.acute(point),
        *skin,
        *corrosion.eye(point, burning),
        *sensitisation.sensitisation(point),
        *cmr.cmr(point),
        *stot.stot(point),
        *aquatic.aquatic(point),
    )
    given = _settled(trails)
    return Case(given, trails, _supplements(point, given))


def _settled(trails: tuple[Trail, ...]) -> tuple[Trail, ...]:
    """Keep of each endpoint the worst class given; of equals the one with the fuller statement, then the first."""
    worst: dict[Endpoint | None, Trail] = {}
    for each in trails:
        if each.fired:
            known = worst.get(each.endpoint)
            if known is None or _severity(each) < _severity(known):
                worst[each.endpoint] = each
    return tuple(worst.values())


def _severity(trail: Trail) -> tuple[int, int]:
    return trail.rank, -len(trail.statement)


def _supplements(point: Point, given: tuple[Trail, ...]) -> tuple[Supplement, ...]:
    unknown = supplement.unknown_toxicity(point)
    if point.policy.regime is Regime.UN_GHS:
        return tuple(unknown)
    return (
        *gas.from_acid(point),
        *supplement.airways(point, given),
        *sensitisation.elicitation(point),
        *supplement.sheet(point, given),
        *unknown,
    )
