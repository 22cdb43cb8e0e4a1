"""What may be said of a substance, as closed shapes, and the cells of the table they become."""

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from chemistry.science.hazard import category, statement
from chemistry.science.hazard.category import CATEGORIES, Endpoint
from chemistry.science.hazard.table import EXPOSURE
from darkroom_service.api.fields import DecimalText, Flag, Shape, Text, Whole, fault

LEAST, MOST, ROWS = "0.000001", 10**9 - 1, 20
ROUTES = {each.value.removeprefix("acute_"): each for each in Endpoint if each.value.startswith("acute_")}
CLASSES = list(dict.fromkeys(each.code for each in CATEGORIES if not each.code.startswith("Acute Tox.")))
STATEMENTS = list(statement.HAZARD)
KINDS, UNITS = ("mean", "short", "ceiling"), ("mg/m3", "ppm")


class Positive(DecimalText):
    """A number above 0."""

    def __init__(self, *, low: str | int = LEAST, high: int = MOST, **options: Any) -> None:
        super().__init__(low=low, high=high, **options)


class ClassIn(Shape):
    """A class, such as Skin Sens. 1, with its statement where the class allows several."""

    code = serializers.ChoiceField(CLASSES)
    statement = serializers.ChoiceField(STATEMENTS, required=False)

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """Refuse a statement that is of another class."""
        said = given.get("statement")
        if said is not None:
            usual = category.category(given["code"], said).statement
            if not said.startswith(usual[:4]):
                words = f"{given['code']} says {usual}"
                raise ValidationError({"statement": [ErrorDetail(words, code="statement.foreign")]})
        return given


class LimitIn(ClassIn):
    """A specific limit: from this share on, up to below that one, this class; % by weight."""

    from_percent = Positive(high=100)
    below_percent = Positive(high=100, required=False)

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """Refuse limits that run backwards."""
        given = super().validate(given)
        if "below_percent" in given and given["below_percent"] <= given["from_percent"]:
            words = "this comes after from_percent; give the smaller figure there"
            raise ValidationError({"below_percent": [ErrorDetail(words, code="range.reversed")]})
        return given


class ToxicityIn(Shape):
    """Acute toxicity by one route: a category, an estimate, or both."""

    route = serializers.ChoiceField(list(ROUTES))
    category = Whole(low=1, high=4, required=False)
    ate = Positive(required=False, help_text="mg/kg; by breathing mg/l.")

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """Ask for one of the two."""
        if "category" not in given and "ate" not in given:
            raise fault("toxicity.untold", "give a category, an estimate (ate), or both")
        return given


class ExposureIn(Shape):
    """A limit in air: mean over a shift, short over a quarter of an hour, or a ceiling."""

    body = Text(max_length=60, help_text="Who sets it.")
    kind = serializers.ChoiceField(KINDS)
    value = Positive()
    unit = serializers.ChoiceField(UNITS)
    minutes = Whole(low=0, high=1440, help_text="It is averaged over so many; 0: at any moment.")
    fraction = Text(max_length=40, required=False, help_text="Such as inhalable.")


class AquaticIn(Shape):
    """One figure of a test with water life."""

    test = Text(max_length=120, help_text="Such as Daphnia 48 h EC50.")
    mg_per_l = Positive()


class CellsIn(Shape):
    """What stands in place of the table's; what is left out stays as it is there. An empty list says: none."""

    name = Text(max_length=120, required=False)
    molar_mass = Positive(required=False, help_text="g/mol.")
    classes = serializers.ListField(child=ClassIn(), max_length=ROWS, required=False)
    limits = serializers.ListField(child=LimitIn(), max_length=ROWS, required=False)
    toxicity = serializers.ListField(
        child=ToxicityIn(), max_length=ROWS, required=False,
        help_text="Left out for a substance that is not in the table: not known. An empty list says: none.",
    )  # fmt: skip
    m_acute = Positive(low=1, required=False, help_text="M-factor, 1 or more: one below would hide what it does.")
    m_chronic = Positive(low=1, required=False)
    no_data = serializers.ListField(
        child=serializers.ChoiceField([each.value for each in Endpoint]), max_length=30, required=False
    )
    extreme_ph_from = Positive(high=100, required=False, help_text="% by weight that may push a pH to 2 or 11.5.")
    own_ph = DecimalText(low=-1, high=15, places=2, required=False)
    non_additive = Flag(required=False, help_text="Its effect on skin and eyes is not summed with others'.")
    exposure = serializers.ListField(child=ExposureIn(), max_length=ROWS, required=False)
    aquatic = serializers.ListField(child=AquaticIn(), max_length=ROWS, required=False)
    doubts = serializers.ListField(child=Text(max_length=300), max_length=10, required=False)

    def validate_toxicity(self, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Keep one row for a route."""
        if len({each["route"] for each in rows}) < len(rows):
            raise fault("toxicity.twice", "one row for each route")
        return rows


class OverrideIn(Shape):
    """What this darkroom says of a substance, where it stands and why the table is not used."""

    cells = CellsIn()
    source = Text(max_length=300, min_length=3, help_text="Such as the supplier's sheet and its date.")  # type: ignore[assignment]
    reason = Text(max_length=500, min_length=3)


def cells_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """Return what was said as cells of the table; figures become strings again."""
    found: dict[str, Any] = {name: given[name] for name in ("name", "no_data") if name in given}
    for name in ("molar_mass", "m_acute", "m_chronic", "extreme_ph_from", "own_ph"):
        if name in given:
            found[name] = {"value": f"{given[name]:f}"}
    if "non_additive" in given:
        found["non_additive"] = {"value": "yes" if given["non_additive"] else "no"}
    if "doubts" in given:
        found["flags"] = [{"words": each} for each in given["doubts"]]
    for name, stored in (("classes", "classes"), ("limits", "limits"), ("toxicity", "toxicity"), ("exposure", EXPOSURE),
                         ("aquatic", "aquatic")):  # fmt: skip
        if name in given:
            found[stored] = [_row(each) for each in given[name]]
    return found


_STORED = {"code": "class", "from_percent": "from", "below_percent": "below", "mg_per_l": "value"}


def _row(given: Mapping[str, Any]) -> dict[str, Any]:
    return {
        _STORED.get(name, name): value if isinstance(value, str | int) else f"{value:f}"
        for name, value in given.items()
    }
