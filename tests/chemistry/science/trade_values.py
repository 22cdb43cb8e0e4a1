"""The trade's check values with the source of each, as data: ``trade_values.json`` beside this file.

Numbers are Decimal or int. ``tolerance`` is absolute in the stated unit, or a share where the unit is ``rel``.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Case:
    """One check value: what goes in, what must come out, how near, and who says so."""

    id: str
    topic: str
    input: Mapping[str, Any]
    expected: Mapping[str, Any]
    tolerance: Decimal | int
    unit: str
    source: str
    formula: str = ""

    def near(self, name: str, value: Any) -> bool:
        """Say whether ``value`` is the expected one of that name within the tolerance."""
        wanted = self.expected[name]
        allowed = self.tolerance * abs(wanted) if self.unit == "rel" else self.tolerance
        return abs(Decimal(str(float(value))) - wanted) <= allowed


@dataclass(frozen=True)
class Scenario:
    """One story and its end. Where the design differs from it the design holds, and the test says so."""

    id: str
    given: str
    expect: Any
    source: str
    tolerance: Decimal | int = 0


_DATA = json.loads(Path(__file__).with_suffix(".json").read_text(encoding="utf-8"), parse_float=Decimal)
CASES = {each["id"]: Case(**each) for each in _DATA["cases"]}
SCENARIOS = {each["id"]: Scenario(**each) for each in _DATA["scenarios"]}


def of_topic(topic: str) -> list[Case]:
    """Return the cases of a topic: area, capacity, dilution, replenishment, temperature, keeping and so on."""
    return [each for each in CASES.values() if each.topic == topic]
