"""How a batch is worded: in full to whoever reads it, in brief as a command's answer."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from rest_framework import serializers

from accounts.acts import Role
from accounts.api.darkroom import Volume
from accounts.api.part import Part
from accounts.gate import Made
from accounts.models import Membership
from chemistry.api.money import MoneyOut, money
from chemistry.api.pack import FormulaBrief, formula_brief
from chemistry.commands import progress
from chemistry.commands.flagtext import worded
from chemistry.models import Batch, BatchState, BatchStep, Origin, Vessel
from darkroom_service import clock
from darkroom_service.api.fields import DecimalText, Id, InstantField, Text, Whole

PEOPLE = ("requested_by", "approved_by", "mixed_by", "released_by")
PLAIN = (
    "code", "origin", "dilution", "wanted", "made", "mixing_started_at", "mixed_at", "rest_until", "released_at",
    "closed_at", "release_density", "fresh_clearing_s", "fresh_clearing_film",
)  # fmt: skip


class FlagOut(serializers.Serializer):
    """Something that was not as it should be."""

    code = Text(max_length=60)
    text = Text(max_length=500)


class BatchChanged(Made):
    """A batch after a change of its state."""

    code = Text(max_length=12)
    state = serializers.ChoiceField(BatchState.choices)
    flags = FlagOut(many=True)


class VesselBrief(serializers.Serializer):
    """A vessel that holds part of the batch now."""

    id = Id(source="public_id")
    code = Text(max_length=12)
    name = Text(max_length=120)
    contents = Volume()


class StepOut(Part):
    """One change of state; who made it is shown to staff, and to themselves."""

    was = Text(max_length=10)
    became = serializers.ChoiceField(BatchState.choices)
    note = Text(max_length=500)
    by = Id(required=False)
    occurred_at = InstantField()
    recorded_at = InstantField()


class BatchOut(Part):
    """A batch. Members do not see who else had a hand in it, and the steps come only when one batch is read."""

    id = Id()
    code = Text(max_length=12)
    formula = FormulaBrief()
    origin = serializers.ChoiceField(Origin.choices)
    dilution = Text(max_length=12)
    state = serializers.ChoiceField(BatchState.choices)
    may_become = serializers.ListField(child=serializers.ChoiceField(BatchState.choices))
    requested_by = Id(allow_null=True, required=False)
    approved_by = Id(allow_null=True, required=False)
    mixed_by = Id(allow_null=True, required=False)
    released_by = Id(allow_null=True, required=False)
    wanted = Volume()
    made = Volume()
    cost = MoneyOut()
    mixing_started_at = InstantField(allow_null=True)
    mixed_at = InstantField(allow_null=True)
    rest_until = InstantField(allow_null=True)
    released_at = InstantField(allow_null=True)
    closed_at = InstantField(allow_null=True)
    release_density = DecimalText(allow_null=True, places=2)
    fresh_clearing_s = Whole(low=1, high=3600, allow_null=True)
    fresh_clearing_film = Text(max_length=60)
    packs = serializers.ListField(child=Id())
    vessels = VesselBrief(many=True)
    flags = FlagOut(many=True)
    steps = StepOut(many=True, required=False)


def brief(row: Batch) -> dict[str, Any]:
    """Return a batch as the answer of a command: its ids, its state, its flags."""
    state = progress.state_at(row, clock.now())
    return {"id": str(row.public_id), "code": row.code, "state": state.value, "flags": worded(row.flags)}


def shown(row: Batch, viewer: Membership, at: datetime, steps: Iterable[BatchStep] | None = None) -> dict[str, Any]:
    """Return what this viewer sees of a batch at an instant; its rows come with it already."""
    staff = viewer.holds(Role.TECHNICIAN, Role.INSTRUCTOR, Role.ADMIN)
    standing: list[Vessel] = [each for each in row.vessels.all() if each.contents]
    facts = {
        "id": row.public_id,
        "formula": formula_brief(row.formula_version),
        "state": progress.state_at(row, at),
        "may_become": progress.following(row, at),
        "cost": money(row.cost_minor, row.darkroom),
        "packs": [each.public_id for each in row.packs.all()],
        "vessels": standing,
        "flags": worded(row.flags),
    }
    facts |= {name: getattr(row, name) for name in PLAIN}
    people = {name: getattr(row, name) for name in PEOPLE}
    facts |= {name: each and each.public_id for name, each in people.items() if staff or each == viewer}
    if steps is not None:
        facts["steps"] = [_step(each, viewer, staff=staff) for each in steps]
    return BatchOut(facts).data


def _step(row: BatchStep, viewer: Membership, *, staff: bool) -> dict[str, Any]:
    facts = {"was": row.was, "became": row.became, "note": row.note, "occurred_at": row.occurred_at}
    facts["recorded_at"] = row.entry.recorded_at
    if staff or row.by_id == viewer.pk:
        facts["by"] = row.by.public_id
    return facts
