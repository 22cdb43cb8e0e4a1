"""What was used of each formula's stock, day by day, read off the two ledgers in two queries."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import Q

from accounts.models import Darkroom
from chemistry.models import Charge, Movement, Place
from chemistry.science import capacity
from chemistry.science.dilution import STOCK
from chemistry.science.formula import Material, Rules, Use
from darkroom_service.localday import day_of
from darkroom_service.quantity import LOAD_PER_ROLL, TENTHS_PER_ML

FORMULA = "batch__formula_version__formula_id"
COLUMNS = (
    "entry_id", "occurred_at", "volume", "target", "source_vessel_id", "source_vessel__owner_id",
    "target_vessel__owner_id", f"source_{FORMULA}", "source_batch__dilution", f"target_{FORMULA}",
    "target_batch__dilution",
)  # fmt: skip
Row = dict[str, Any]
Span = tuple[datetime, datetime]  # from the first, not including the second


@dataclass
class StockUse:
    """mL of stock used of each formula on each local day, and the days on which anything was used in the room."""

    ml: dict[int, dict[date, float]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(float)))
    days: set[date] = field(default_factory=set)


@dataclass
class _Tank:
    """What one entry drew into tanks of one formula's stock: 0.1 mL out and back, and roll units by vessel."""

    day: date
    drawn: int = 0
    back: int = 0
    vessels: set[int] = field(default_factory=set)


def used(room: Darkroom, span: Span, rules: Mapping[int, Rules]) -> StockUse:
    """Return what was used, by formula id and day.

    Used is what went into a tank and did not come back, into another strength or formula, or into somebody's own
    bottle. A tank that was poured back used up roll units: load / (roll units a litre does). Waste is not use.
    """
    found = StockUse()
    tanks: dict[tuple[int, int], _Tank] = {}
    for row in _moved(room, span):
        day = day_of(row["occurred_at"], room.zone)
        if row["source_vessel_id"] is None:
            _came_back(tanks, row)
            continue
        if row["target"] == Place.RUN or _turned(row):
            found.days.add(day)
        if row["source_batch__dilution"] != STOCK or row["source_vessel__owner_id"] is not None:
            continue
        if row["target"] == Place.RUN:
            tank = tanks.setdefault((row["entry_id"], row[f"source_{FORMULA}"]), _Tank(day))
            tank.drawn += row["volume"]
            tank.vessels.add(row["source_vessel_id"])
        elif _turned(row):
            found.ml[row[f"source_{FORMULA}"]][day] += row["volume"] / TENTHS_PER_ML
    loads = _loads(room, span) if any(tank.back for tank in tanks.values()) else {}
    for (entry, formula), tank in tanks.items():
        found.ml[formula][tank.day] += _of_tank(tank, rules.get(formula), [loads.get((entry, v)) for v in tank.vessels])
    return found


def _moved(room: Darkroom, span: Span) -> Iterable[Row]:
    """Return what left vessels and what came back from tanks, those out first; what was taken back is left out."""
    out_or_back = Q(source=Place.VESSEL) | Q(source=Place.RUN, target=Place.VESSEL)
    rows = Movement.objects.filter(out_or_back, entry__darkroom=room, reverses=None, reversed_by=None)
    rows = rows.filter(occurred_at__gte=span[0], occurred_at__lt=span[1])
    return sorted(rows.values(*COLUMNS), key=lambda row: row["source_vessel_id"] is None)


def _came_back(tanks: Mapping[tuple[int, int], _Tank], row: Row) -> None:
    tank = tanks.get((row["entry_id"], row[f"target_{FORMULA}"]))
    if tank is not None and row["target_batch__dilution"] == STOCK:
        tank.back += row["volume"]


def _turned(row: Row) -> bool:
    """Tell whether liquid became another strength or formula, or somebody's own."""
    if row["target"] != Place.VESSEL:
        return False
    was = (row[f"source_{FORMULA}"], row["source_batch__dilution"])
    return was != (row[f"target_{FORMULA}"], row["target_batch__dilution"]) or (
        row["target_vessel__owner_id"] is not None
    )


def _loads(room: Darkroom, span: Span) -> dict[tuple[int, int], tuple[int, str]]:
    """Return load and material charged to each vessel by each entry."""
    rows = Charge.objects.filter(entry__darkroom=room, load__gt=0, moved=False, reverses=None, reversed_by=None)
    rows = rows.filter(occurred_at__gte=span[0], occurred_at__lt=span[1])
    return {
        (entry, vessel): (load, material)
        for entry, vessel, load, material in rows.values_list(
            "entry_id", "vessel_id", "load", "vessel__film_or_paper"
        )
    }  # fmt: skip


def _of_tank(tank: _Tank, rules: Rules | None, loads: Iterable[tuple[int, str] | None]) -> float:
    """Return the mL of stock a tank used: all it took, or by its roll units where it was poured back."""
    kept = (tank.drawn - tank.back) / TENTHS_PER_ML
    if not tank.back or rules is None:
        return kept
    by_load = [_worth(rules, *each) for each in loads if each is not None]
    known = [each for each in by_load if each is not None]
    return sum(known) if known else kept


def _worth(rules: Rules, load: int, material: str) -> float | None:
    figure = capacity.find(rules, Material(material or Material.FILM), Use.REUSE, STOCK)
    if figure is None:
        return None
    return load / LOAD_PER_ROLL * 1000 / float(figure.compensated or figure.rolls_per_litre)
