"""How tray sessions are worded: trays as they stand, and sheets added up. Ids of people, never names."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from rest_framework import serializers

from accounts.acts import Role
from accounts.api.darkroom import Volume
from accounts.models import Darkroom, Membership
from chemistry.api.batchwords import FlagOut
from chemistry.api.money import MoneyOut, money
from chemistry.api.planwords import VesselRef
from chemistry.commands import advice, standing
from chemistry.commands.flagtext import worded
from chemistry.commands.tally import is_live, summed
from chemistry.commands.traysession import standing_trays
from chemistry.models import SessionTray, StepRole, TraySession
from chemistry.science import keeping
from chemistry.science.load import text as load_text
from darkroom_service import quantity
from darkroom_service.api.fields import DecimalText, Id, InstantField, QuantityField, Text, Whole
from darkroom_service.quantity import Dimension

STANDING = ("formula", "dilution", "contents", "load", "load_units", "load_left", "until", "hours_left")


class TrayOut(serializers.Serializer):
    """A tray as it stands now; empty fields once what the session filled in is no longer there."""

    role = serializers.ChoiceField(StepRole.choices)
    vessel = VesselRef()
    formula = Text(max_length=60, allow_null=True)
    dilution = Text(max_length=12, allow_null=True)
    contents = Volume(allow_null=True)
    load = Text(max_length=20, allow_null=True, help_text="Roll units done, in this tray or brought with the liquid.")
    load_units = Whole(low=0, high=10**15, allow_null=True)
    load_left = Text(max_length=20, allow_null=True, help_text="Roll units left, where the formula gives a figure.")
    until = InstantField(allow_null=True, help_text="When its hours in the tray are over.")
    hours_left = DecimalText(allow_null=True)


class SumOut(serializers.Serializer):
    """Sheets added up; what was taken back does not count."""

    sheets = Whole(low=0, high=10**12)
    load = Text(max_length=20, help_text="Roll units.")
    load_units = Whole(low=0, high=10**15)
    area = QuantityField(Dimension.AREA, help_text="Coated area.")
    cost = MoneyOut()


class SizeOut(SumOut):
    """The sheets of one size."""

    format = Text(max_length=40)


class OfMemberOut(SumOut):
    """The sheets of one person."""

    member = Id()


class TraySessionOut(serializers.Serializer):
    """A session with its trays and its tally."""

    id = Id()
    line = Id(allow_null=True)
    group = Text(max_length=120)
    opened_by = Id()
    opened_at = InstantField()
    closed_at = InstantField(allow_null=True)
    trays = TrayOut(many=True)
    total = SumOut()
    by_size = SizeOut(many=True)
    by_member = OfMemberOut(many=True, help_text="All for technicians and instructors; others see their own.")
    flags = FlagOut(many=True)


def sessions_out(rows: Sequence[TraySession], viewer: Membership, at: datetime) -> list[dict[str, Any]]:
    """Return sessions as this viewer sees them at an instant; their trays come with them already."""
    groups = defaultdict(list)
    for group in summed(rows):
        groups[group["session_id"]].append(group)
    return [_session(row, groups[row.pk], viewer, at) for row in rows]


def trays_out(session: TraySession, at: datetime) -> list[dict[str, Any]]:
    """Return the trays of a session at an instant, read anew."""
    return [_tray(session, each, at) for each in standing_trays(session)]


def _tray(session: TraySession, tray: SessionTray, at: datetime) -> dict[str, Any]:
    vessel = tray.vessel
    named = {"role": tray.role, "vessel": advice.named(vessel)}
    if vessel.batch is None or not is_live(session, tray):
        return named | dict.fromkeys(STANDING)
    rules = standing.rules_of(vessel)
    left, _ = standing.roll_units(vessel, rules)
    until = keeping.tray_until(rules.keeping, session.opened_at)
    return named | {
        "formula": vessel.batch.formula_version.formula.code,
        "dilution": vessel.batch.dilution,
        "contents": Volume().to_representation(vessel.contents),
        "load": load_text(vessel.load),
        "load_units": vessel.load,
        "load_left": None if left is None else load_text(quantity.load_units(left)),
        "until": until and InstantField().to_representation(until),
        "hours_left": None if until is None else _hours(until, at),
    }


def _session(row: TraySession, groups: list[dict[str, Any]], viewer: Membership, at: datetime) -> dict[str, Any]:
    room = viewer.darkroom
    staff = viewer.holds(Role.TECHNICIAN, Role.INSTRUCTOR)
    seen = [group for group in groups if staff or group["whose"] == viewer.public_id]
    return {
        "id": str(row.public_id),
        "line": row.line and str(row.line.public_id),
        "group": row.group,
        "opened_by": str(row.opened_by.public_id),
        "opened_at": InstantField().to_representation(row.opened_at),
        "closed_at": row.closed_at and InstantField().to_representation(row.closed_at),
        "trays": [_tray(row, each, at) for each in row.trays.all()],
        "total": _sum(groups, room),
        "by_size": list(_by("format", "format", groups, room)),
        "by_member": list(_by("member", "whose", seen, room)),
        "flags": worded(row.flags),
    }


def _by(name: str, key: str, groups: Iterable[dict[str, Any]], room: Darkroom) -> Iterator[dict[str, Any]]:
    parts = defaultdict(list)
    for group in groups:
        parts[str(group[key])].append(group)
    for value, rows in sorted(parts.items()):
        yield {name: value, **_sum(rows, room)}


def _sum(groups: Sequence[dict[str, Any]], room: Darkroom) -> dict[str, Any]:
    sheets, units, coated, minor = (
        sum(each[name] for each in groups) for name in ("sheets", "units", "coated", "minor")
    )
    return {"sheets": sheets, **figures(units, coated, minor, room)}


def figures(load: int, area: int, minor: int, room: Darkroom) -> dict[str, Any]:
    """Return load, area and cost as every sum and tally shows them."""
    return {
        "load": load_text(load),
        "load_units": load,
        "area": QuantityField(Dimension.AREA).to_representation(quantity.cm2(area)),
        "cost": money(minor, room),
    }


def _hours(until: datetime, at: datetime) -> str:
    """Return the hours until an instant, rounded down to a tenth; none once it is past."""
    tenths = max(int((until - at).total_seconds()), 0) // 360
    return f"{Decimal(tenths).scaleb(-1):f}"
