"""Worked examples of mixture classification with the source of each: ``cases.json`` beside this file.

``published`` were read at the address they name; ``derived`` are computed from the tables, not published.
"""

import json
from pathlib import Path

_DATA = json.loads(Path(__file__).with_suffix(".json").read_text(encoding="utf-8"))
PUBLISHED = {each["id"]: each for each in _DATA["published"]}
COMPUTED = {each["id"]: each for each in _DATA["derived"]}
