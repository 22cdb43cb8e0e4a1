"""The United States' rules for whoever makes hazardous waste: category, limits, days, characteristic codes.

40 CFR 260 to 262 and 403. State rules are often stricter. What is from memory says so.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

EPA = "40 CFR 260.10, 262.14, 262.16, 262.17, by the EPA's summary of generator requirements, read"
GALLON_L = Decimal("3.785411784")
SATELLITE_L = 55 * GALLON_L
KG_VERY_SMALL, KG_LARGE = Decimal(100), Decimal(1000)
ACUTE_KG, RESIDUE_KG = Decimal(1), Decimal(100)
SILVER_MG_L, PH_ACID, PH_BASE = Decimal("5.0"), Decimal("2"), Decimal("12.5")
SEWER_KG, SEWER_DETAIL_KG = Decimal(15), Decimal(100)
CORROSIVE, BY_SILVER = "D002", "D011"
FAR_DAYS, EPISODE_DAYS, NOTICE_DAYS, MOVE_DAYS = 270, 60, 30, 3
RENOTIFY_FROM, RENOTIFY_EVERY = 2021, 4


class Category(StrEnum):
    """How much a site makes in a calendar month decides which rules it keeps, month by month."""

    VERY_SMALL = "VSQG"
    SMALL = "SQG"
    LARGE = "LQG"


@dataclass(frozen=True)
class Limits:
    """What a category may hold: kilograms on site at once and days since the first went in; None is no limit."""

    onsite_kg: Decimal | None
    days: int | None
    weekly_inspection: bool


LIMITS = {
    Category.VERY_SMALL: Limits(Decimal(1000), None, False),
    Category.SMALL: Limits(Decimal(6000), 180, True),
    Category.LARGE: Limits(None, 90, True),
}


def category(month_kg: Decimal, acute_kg: Decimal = Decimal(0), acute_residue_kg: Decimal = Decimal(0)) -> Category:
    """Return the category of a calendar month: up to 100 kg VSQG, from 1000 kg LQG, between them SQG.

    More than 1 kg of acute waste or 100 kg of its spill residue is LQG. 100.0 is VSQG, 100.01 SQG; 999.99 is SQG,
    1000.0 LQG. Kilograms from 0 up. Source: 40 CFR 260.10, read in the EPA's summary; acute in a state's copy.
    """
    if month_kg >= KG_LARGE or acute_kg > ACUTE_KG or acute_residue_kg > RESIDUE_KG:
        return Category.LARGE
    return Category.VERY_SMALL if month_kg <= KG_VERY_SMALL else Category.SMALL


def holds(month: Category, onsite_kg: Decimal) -> Category:
    """Return whose limits hold on site: a VSQG with 1000 kg or more keeps the SQG's. Source: 262.14(a)(4), read."""
    overflow = month is Category.VERY_SMALL and onsite_kg >= KG_LARGE
    return Category.SMALL if overflow else month


def ship_by(began: date, kept_by: Category, *, far: bool = False) -> date | None:
    """Return the last day waste may stay: 180 days after the day it began for SQG, 90 for LQG, none for VSQG.

    ``far``: the site that takes it is 200 miles away or more, then an SQG has 270. The day it began is day 0, so day
    180 is in time and 181 late. Source: 262.16(b), 262.17(a), read.
    """
    days = LIMITS[kept_by].days
    if days is None:
        return None
    return began + timedelta(days=FAR_DAYS if far and kept_by is Category.SMALL else days)


def move_by(exceeded: date) -> date:
    """Return until when what is over 55 gallons leaves the place it is made: 3 days, weekends and holidays counted.

    Source: 262.15(a)(6), read in a state's copy and a seminar's note.
    """
    return exceeded + timedelta(days=MOVE_DAYS)


def notify_by(planned: date) -> date:
    """Return until when a planned clear-out is told to the EPA: 30 days before. It ends within 60 days, once a year.

    Source: 262.232, 262.233, read.
    """
    return planned - timedelta(days=NOTICE_DAYS)


def renotify(today: date) -> date:
    """Return the next 1 September an SQG notifies again by: 2021 and every four years. Source: 262.18(d), read."""
    year = max(today.year, RENOTIFY_FROM)
    while (year - RENOTIFY_FROM) % RENOTIFY_EVERY or date(year, 9, 1) < today:
        year += 1
    return date(year, 9, 1)


def is_toxic_by_silver(mg_per_l: Decimal) -> bool:
    """Say whether a liquid is D011: 5.0 mg/L or more. Source: 261.24, limit read; the number of the code, memory."""
    return mg_per_l >= SILVER_MG_L


def is_corrosive(ph: Decimal) -> bool:
    """Say whether a liquid in water is D002: pH 2 or less, 12.5 or more. Source: 261.22, inclusive from memory."""
    return ph <= PH_ACID or ph >= PH_BASE


def may_neutralise(codes: Iterable[str]) -> bool:
    """Say whether an elementary neutralisation unit may take it: hazardous for nothing but D002. Source: 264.1, read.

    A stop bath is above pH 2 and no D002 at all; one that carries silver or chromium is not eligible.
    """
    return set(codes) == {CORROSIVE}


@dataclass(frozen=True)
class SewerNotice:
    """Whether a month's hazardous waste let down a sewer is told to the works, EPA and state, and in detail."""

    needed: bool
    detailed: bool


def sewer_notice(month_kg: Decimal) -> SewerNotice:
    """Return the notice due: above 15 kg in a month, in detail above 100 kg. Source: 403.12(p), read in town codes."""
    return SewerNotice(month_kg > SEWER_KG, month_kg > SEWER_DETAIL_KG)
