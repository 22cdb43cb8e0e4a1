"""From test results in mg/l to aquatic classes and M-factors of one substance."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

_BOUNDS = ((Decimal(1), "Aquatic Chronic 1"), (Decimal(10), "Aquatic Chronic 2"), (Decimal(100), "Aquatic Chronic 3"))


@dataclass(frozen=True)
class Ecotoxicity:
    """The classes that follow from data, with M where a class is Acute 1 or Chronic 1."""

    classes: tuple[str, ...]
    m_acute: int | None = None
    m_chronic: int | None = None


def m_from(lowest_mg_per_l: Decimal, top: Decimal) -> int:
    """Return 1 for top/10 < value <= top, 10 a decade below, and so on: ``top`` is 1 mg/l for acute L(E)C50.

    For chronic NOEC 0.1 (not rapidly degradable) or 0.01. Source: CLP Annex I Table 4.1.3: 0.002 -> 100 and 0.9 -> 1
    read in New Zealand's guide, the rest from memory.
    """
    m = 1
    while lowest_mg_per_l * m * 10 <= top:
        m *= 10
    return m


def from_tests(
    acute_mg_per_l: Iterable[Decimal], *, rapidly_degradable: bool, bioaccumulates: bool = False
) -> Ecotoxicity:
    """Return the classes from acute tests alone: the lowest L(E)C50 in mg/l decides, no chronic data.

    <= 1: Acute 1. <= 1, 10, 100 and not rapidly degradable or bioaccumulating: Chronic 1, 2, 3; without chronic data
    the acute M is the chronic M. Source: ECHA dossiers 14417, 27699 and 16527 agree; table from memory.
    """
    lowest = min(acute_mg_per_l)
    acute = ("Aquatic Acute 1",) if lowest <= 1 else ()
    stays = not rapidly_degradable or bioaccumulates
    chronic = next(((code,) for bound, code in _BOUNDS if stays and lowest <= bound), ())
    m = m_from(lowest, Decimal(1)) if acute else None
    return Ecotoxicity((*acute, *chronic), m, m if chronic and acute else None)


def used_m(from_data: int | None, harmonised: int | None) -> int | None:
    """Return the M to use: the law's where it gives one, else the one from data. Source: ECHA dossier 14417, read."""
    return harmonised or from_data
