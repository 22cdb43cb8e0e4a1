"""Check values for waste from law, handbooks and general libraries: each row names its source and how it got here.

``status`` READ was read at its source (a stored copy), MEMORY was not, COMPUTED was worked out from such figures.
"""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

ROWS: list[dict[str, Any]] = json.loads(Path(__file__).with_name("cases.json").read_text(encoding="utf-8"))


def of(*topics: str) -> Any:
    """Parametrise a test by the cases of these topics, named by id, status and source."""
    rows = [row for row in ROWS if row["topic"] in topics]
    assert {row["topic"] for row in rows} == set(topics)
    ids = [f"{row['id']} [{row['status']}: {row['source']}]" for row in rows]
    return pytest.mark.parametrize("case", rows, ids=ids)


def number(value: Any) -> Decimal:
    """Return a figure of a case exactly as it stands there."""
    return Decimal(str(value))


def near(expected: Any, tolerance: Any) -> Any:
    """Return what a figure is compared with; exact where the case says so."""
    if isinstance(tolerance, str):
        return expected
    if "rel" in tolerance:
        return pytest.approx(expected, rel=tolerance["rel"])
    return pytest.approx(expected, abs=tolerance["abs"])
