"""How a vessel is worded: what is in it, what it can still do, until when, and why."""

from datetime import datetime
from fractions import Fraction
from typing import Any

from rest_framework import serializers

from accounts.api.darkroom import Volume
from accounts.models import Darkroom
from chemistry.api.hazardwords import CautionOut, HazardBriefOut
from chemistry.api.pack import FormulaBrief, formula_brief
from chemistry.api.planwords import VesselRef
from chemistry.commands import hazards, standing
from chemistry.models import Batch, Vessel, VesselState
from chemistry.models.vessel import VesselMaterial
from chemistry.science import replenishment
from chemistry.science.formula import Kind, Material, Process, Rules, Use
from chemistry.science.load import text as load_text
from chemistry.science.oxidation import Bound
from darkroom_service.api.fields import DayField, DecimalText, Id, InstantField, Text, Whole
from darkroom_service.quantity import LOAD_PER_ROLL, millilitres

MOST_LOAD = 10**15


class LoadOut(serializers.Serializer):
    """Roll units done, and left and in all where the way of use is limited by a count; ``*_units`` in 1/3600, exact.

    ``left`` and ``total`` are for the plain time, ``left_compensated`` for times lengthened as the bath is used up.
    """

    done = Text(max_length=20)
    done_units = Whole(low=0, high=MOST_LOAD)
    left = Text(max_length=20, allow_null=True, help_text="Below zero after an overrun.")
    left_units = Whole(low=-MOST_LOAD, high=MOST_LOAD, allow_null=True)
    left_compensated = Text(max_length=20, allow_null=True, help_text="As left, where times are lengthened for reuse.")
    left_compensated_units = Whole(low=-MOST_LOAD, high=MOST_LOAD, allow_null=True)
    total = Text(max_length=20, allow_null=True)
    total_units = Whole(low=0, high=MOST_LOAD, allow_null=True)


class UseByOut(serializers.Serializer):
    """The last day it is trusted, and the rule that set it; no day where nothing is promised."""

    day = DayField(allow_null=True)
    rule = Text(max_length=300)


class OxygenOut(serializers.Serializer):
    """What air could have left of the hydroquinone, as shares: a bound, never a promise."""

    best_left = DecimalText(places=4)
    worst_left = DecimalText(places=4)
    test_first = serializers.BooleanField()
    basis = Text(max_length=60)


class ReplenishingOut(serializers.Serializer):
    """How a bath is kept alive: what is owed for the films since, what was added, and how much of the old is left."""

    owed = Volume()
    added = Volume()
    turnovers = DecimalText(places=2)
    original_fraction = DecimalText(places=5)


class VesselOut(serializers.Serializer):
    """A vessel and what stands in it, judged as of now."""

    id = Id()
    code = Text(max_length=12)
    name = Text(max_length=120)
    nominal = Volume()
    material = serializers.ChoiceField(VesselMaterial.choices)
    owner = Id(allow_null=True)
    leave_by = DayField(allow_null=True)
    state = serializers.ChoiceField(VesselState.choices)
    reasons = serializers.ListField(child=Text(max_length=500))
    batch = VesselRef(allow_null=True)
    formula = FormulaBrief(allow_null=True)
    kind = serializers.ChoiceField([each.value for each in Kind], allow_null=True)
    process = serializers.ChoiceField([each.value for each in Process], allow_null=True)
    dilution = Text(max_length=12, allow_blank=True)
    contents = Volume()
    basis = Volume(help_text="What the present contents were filled with: the capacity counts on it.")
    held = Volume(help_text="Of the contents, what tank plans keep.")
    use = serializers.ChoiceField([each.value for each in Use], allow_blank=True)
    film_or_paper = serializers.ChoiceField([each.value for each in Material], allow_blank=True)
    load = LoadOut()
    use_by = UseByOut(allow_null=True)
    oxygen = OxygenOut(allow_null=True)
    replenishing = ReplenishingOut(allow_null=True)
    filled_at = InstantField(allow_null=True)
    part_full_since = InstantField(allow_null=True)
    last_pass_at = InstantField(allow_null=True)
    level_known_at = InstantField(allow_null=True)


class VesselDetailOut(VesselOut):
    """One vessel, with what its contents can do to who touches them; none while it is empty."""

    hazards = HazardBriefOut(allow_null=True)
    cautions = CautionOut(many=True)


PLAIN = (
    "code", "name", "nominal", "material", "leave_by", "contents", "basis", "use", "film_or_paper", "filled_at",
    "part_full_since", "last_pass_at", "level_known_at",
)  # fmt: skip
EMPTY = {"batch": None, "formula": None, "kind": None, "process": None, "dilution": "", "use_by": None}


def shown(row: Any, at: datetime, zone: str) -> dict[str, Any]:
    """Return a vessel as of an instant; ``row`` brings its batch, formula and owner, ``held`` and ``added`` along."""
    found = standing.assess(row, at, zone)
    facts = {name: getattr(row, name) for name in PLAIN} | EMPTY
    facts |= {
        "id": row.public_id,
        "owner": row.owner and row.owner.public_id,
        "state": found.state,
        "reasons": found.reasons,
        "held": row.held,
        "load": _load(row, found),
        "oxygen": found.bound and _oxygen(found.bound),
        "replenishing": None,
    }
    if row.batch and row.contents:
        facts |= _filled(row, row.batch, found)
    return VesselOut(facts).data


def guarded(row: Any, room: Darkroom) -> dict[str, Any]:
    """Return the hazards of what stands in a vessel at the strength it is used, and what is said at every strength."""
    if not (row.batch and row.contents):
        return {"hazards": None, "cautions": []}
    version = row.batch.formula_version
    [found] = hazards.liquids([(version, row.batch.dilution)], hazards.substances_of(room))
    return {"hazards": found, "cautions": hazards.floor([version])}


def _filled(row: Any, batch: Batch, found: standing.Standing) -> dict[str, Any]:
    rules = batch.formula_version.rules
    return {
        "batch": {"id": batch.public_id, "code": batch.code},
        "formula": formula_brief(batch.formula_version),
        "kind": rules.kind,
        "process": rules.process,
        "dilution": batch.dilution,
        "use_by": {"day": found.use_by, "rule": found.use_by_rule},
        "replenishing": _replenishing(row, rules),
    }


def _load(row: Vessel, found: standing.Standing) -> dict[str, Any]:
    plain = standing.roll_units(row, standing.rules_of(row), compensated=False) if found.total is not None else ()
    left, total = map(_units, plain or (None, None))
    compensated = _units(found.left)
    return {
        "done": load_text(row.load),
        "done_units": row.load,
        "left": None if left is None else load_text(left),
        "left_units": left,
        "left_compensated": None if compensated is None else load_text(compensated),
        "left_compensated_units": compensated,
        "total": None if total is None else load_text(total),
        "total_units": total,
    }


def _units(roll_units: Fraction | None) -> int | None:
    """Count on the load grid, rounded down so that nobody is promised more than there is."""
    return None if roll_units is None else roll_units.numerator * LOAD_PER_ROLL // roll_units.denominator


def _oxygen(bound: Bound) -> dict[str, Any]:
    left = {"best_left": bound.best_left, "worst_left": bound.worst_left, "test_first": bound.test_first}
    return left | {"basis": "computed, worst case"}


def _replenishing(row: Any, rules: Rules) -> dict[str, Any] | None:
    rule = rules.replenishing
    if row.use != Use.REPLENISHED or rule is None:
        return None
    tank_ml, added_ml = millilitres(row.contents), millilitres(row.added)
    doses = Fraction(added_ml) / Fraction(rule.ml_per_roll) if rule.ml_per_roll else Fraction(0)
    return {
        "owed": row.replenish_owed,
        "added": row.added,
        "turnovers": replenishment.turnovers(added_ml, tank_ml),
        "original_fraction": replenishment.original_fraction(tank_ml, rule.ml_per_roll, doses),
    }
