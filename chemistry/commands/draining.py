"""What a bath does at the end of a drain, as a release keeps it: computed, with the source of each threshold."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from chemistry.science.discharge import Against, against
from waste.commands.drain import Letting
from waste.science.drain import TENTHS_PER_LITRE


def effects(told: Mapping[str, Any], letting: Letting) -> list[dict[str, Any]]:
    """Compare what a snapshot says is in a liquid with concentrations without effect, after the water along with it."""
    held = {cas: Decimal(grams) for cas, grams in told.get("g_per_l", {}).items()}
    litres, water = (Decimal(each) / TENTHS_PER_LITRE for each in (letting.volume, letting.water))
    return [_row(each) for each in against(held, litres, water, ph=letting.ph).against]


def _row(each: Against) -> dict[str, Any]:
    bar = each.threshold
    return {
        "cas": bar.cas,
        "name": bar.name,
        "place": bar.place,
        "mg_per_l": f"{bar.mg_per_l.normalize():f}",
        "before_mg_per_l": f"{each.before_mg_per_l.normalize():f}",
        "after_mg_per_l": f"{each.after_mg_per_l.normalize():f}",
        "times_needed": f"{each.dilution_needed:f}",
        "over": each.over,
        "source": f"{bar.source} ({bar.status})",
    }
