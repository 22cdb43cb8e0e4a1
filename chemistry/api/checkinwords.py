"""How a check-in is worded: as stored to whoever reads it, and with what it did to each vessel when it is written."""

from typing import Any
from uuid import UUID

from rest_framework import serializers

from accounts.api.darkroom import Volume
from accounts.gate import Made
from accounts.models import Darkroom
from chemistry.api.batchwords import FlagOut
from chemistry.api.money import MoneyOut, money
from chemistry.api.planwords import TimeOut, VesselRef
from chemistry.api.tank import FilmOut
from chemistry.commands import advice, standing
from chemistry.commands.checkin import CheckedIn
from chemistry.commands.flagtext import worded
from chemistry.commands.pouring import Pour
from chemistry.commands.run import USES
from chemistry.models import CheckIn, StepRole, VesselState
from chemistry.science.load import text as load_text
from darkroom_service import quantity
from darkroom_service.api.fields import DayField, Id, InstantField, QuantityField, Text, Whole
from darkroom_service.quantity import Dimension


class GivenOut(serializers.Serializer):
    """The advice the film was developed by, as far as it is known."""

    plan = Id(required=False)
    compensate = serializers.BooleanField()
    time = TimeOut(required=False)
    not_advised = Text(max_length=500, required=False, help_text="Why no time could be given.")


class TakenBack(serializers.Serializer):
    """That an entry was taken back, when and why."""

    id = Id()
    reason = Text(max_length=500)
    at = InstantField()


class CheckInOut(serializers.Serializer):
    """A check-in as it was written."""

    id = Id()
    member = Id(help_text="Whose film it was.")
    by = Id(help_text="Who wrote it down.")
    line = Id()
    plan = Id(allow_null=True)
    vessel = VesselRef()
    films = FilmOut(many=True)
    tank = Volume()
    use = serializers.ChoiceField(list(USES))
    dilution = Text(max_length=12)
    load = Text(max_length=20, help_text="Roll units.")
    load_units = Whole(low=1, high=10**15, help_text="The same in 1/3600 roll unit, exact.")
    area = QuantityField(Dimension.AREA, help_text="Coated area.")
    cost = MoneyOut()
    flags = FlagOut(many=True)
    advice = GivenOut()
    occurred_at = InstantField()
    recorded_at = InstantField()
    reversal = TakenBack(allow_null=True)


class VesselAfter(serializers.Serializer):
    """A vessel of the line after the check-in."""

    role = serializers.ChoiceField(StepRole.choices)
    vessel = VesselRef()
    state = serializers.ChoiceField(VesselState.choices)
    contents = Volume()
    load = Text(max_length=20)
    load_units = Whole(low=0, high=10**15)
    load_left = Text(max_length=20, allow_null=True, help_text="Roll units left, where its use is counted.")
    replenish_owed = Volume()
    use_by = DayField(allow_null=True)
    flags = FlagOut(many=True)


class CheckedInOut(CheckInOut):
    """A check-in just written, with every vessel it charged."""

    vessels = VesselAfter(many=True)


class TakenBackOut(Made):
    """A check-in taken back; flags say what could not be undone to the letter."""

    flags = FlagOut(many=True)


def shown(row: CheckIn, by: UUID, room: Darkroom, reversal: dict[str, Any] | None = None) -> dict[str, Any]:
    """Return a check-in as an answer shows it; the entry it belongs to need not be written yet."""
    return {
        "id": str(row.public_id),
        "member": str(row.member.public_id),
        "by": str(by),
        "line": str(row.line.public_id),
        "plan": str(row.plan.public_id) if row.plan else None,
        "vessel": advice.named(row.vessel),
        "films": row.films,
        "tank": Volume().to_representation(row.tank),
        "use": row.use,
        "dilution": row.dilution,
        "load": load_text(row.load),
        "load_units": row.load,
        "area": QuantityField(Dimension.AREA).to_representation(quantity.cm2(row.area)),
        "cost": money(row.cost_minor, room),
        "flags": worded(row.flags),
        "advice": row.advice,
        "occurred_at": InstantField().to_representation(row.occurred_at),
        "recorded_at": InstantField().to_representation(row.recorded_at),
        "reversal": reversal,
    }


def read(row: CheckIn, room: Darkroom) -> dict[str, Any]:
    """Return a stored check-in, with its reversal if there is one; needs the entry loaded."""
    undone = getattr(row.entry, "reversal", None)
    reversal = undone and {
        "id": str(undone.public_id),
        "reason": undone.reason,
        "at": InstantField().to_representation(undone.occurred_at),
    }
    return shown(row, row.entry.by.public_id, room, reversal)


def after(done: CheckedIn) -> list[dict[str, Any]]:
    """Return how each vessel of the line stands now."""
    return [_vessel(pour) for pour in done.pours]


def _vessel(pour: Pour) -> dict[str, Any]:
    vessel = pour.stage.vessel
    left, _ = standing.roll_units(vessel, pour.stage.bath.rules)
    return {
        "role": pour.stage.role,
        "vessel": advice.named(vessel),
        "state": vessel.state,
        "contents": Volume().to_representation(vessel.contents),
        "load": load_text(vessel.load),
        "load_units": vessel.load,
        "load_left": None if left is None else load_text(quantity.load_units(left)),
        "replenish_owed": Volume().to_representation(vessel.replenish_owed),
        "use_by": vessel.use_by and vessel.use_by.isoformat(),
        "flags": worded(dict.fromkeys(pour.flags)),
    }
