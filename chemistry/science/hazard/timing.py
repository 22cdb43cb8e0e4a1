"""How long one classification takes, beside a plain loop over the same ingredients."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from statistics import median

from chemistry.science.hazard.classify import classify
from chemistry.science.hazard.mixture import Mixture


@dataclass(frozen=True)
class Timing:
    """Medians in microseconds of one run; ``ratio`` is the median of the ratios of neighbouring rounds."""

    rounds: int
    classify_us: float
    loop_us: float
    ratio: float


def timed(mixture: Mixture, rounds: int, timer: Callable[[], float]) -> Timing:
    """Time ``classify`` and a plain loop in turn; ``timer`` counts seconds, such as a performance counter."""
    pairs = [(_took(classify, mixture, timer), _took(plain_loop, mixture, timer)) for _ in range(rounds)]
    whole, loop = [each for each, _ in pairs], [each for _, each in pairs]
    ratios = [each / other for each, other in pairs if other > 0]
    return Timing(rounds, median(whole) * 1e6, median(loop) * 1e6, median(ratios) if ratios else 0.0)


def plain_loop(mixture: Mixture) -> Fraction:
    """Add up every share times the classes of its substance: the least any classification has to look at."""
    total = Fraction(0)
    for part in mixture.parts:
        for _ in (*part.substance.hazards, *part.substance.toxicity):
            total += part.high
    return total


def _took(work: Callable[[Mixture], object], mixture: Mixture, timer: Callable[[], float]) -> float:
    start = timer()
    work(mixture)
    return timer() - start
