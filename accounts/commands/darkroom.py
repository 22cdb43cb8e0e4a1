"""A darkroom's beginning and its settings."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from django.db import transaction

from accounts.acts import Act, Role
from accounts.commands import topic
from accounts.commands.entry import Ask, Receipt, Work, command, membership, replay, settle
from accounts.models import Darkroom, Entry, Head, Membership, Person, RoleChange
from darkroom_service import clock
from darkroom_service.refusal import Clash, Malformed, NotAllowed, NotFound

NEW_PER_DAY = 3
CURRENCY = re.compile(r"[A-Z]{3}", re.ASCII)
# Changing the currency would rename every sum booked so far, so it is chosen once.
EDITABLE = frozenset({
    "name", "zone", "country_rules", "emergency_text", "second_person_mixing", "second_person_release",
    "second_person_pickup", "loss_percent", "loss_volume", "carry_out_film", "carry_out_paper", "hold_minutes",
    "tank_sizes", "room_volume", "air_changes",
})  # fmt: skip
FREE_TEXT = frozenset({"name", "emergency_text"})
# What the apps above do when a darkroom's calendar changes, in the same act.
ON_ZONE: list[Callable[[Work], None]] = []


@dataclass(frozen=True)
class Edited:
    """A darkroom after a change, and each changed setting as it was and is; free text is left out of the record."""

    darkroom: Darkroom
    changed: dict[str, dict[str, Any]]


def create(ask: Ask, *, slug: str, settings: dict[str, Any]) -> Receipt:
    """Make a darkroom whose creator is its first admin, with its head, topics and first entry in one transaction.

    There is no darkroom to lock yet, so the creator's own row is locked instead; the beats are those of every command.
    The key is looked up among the creator's entries of this act: a twin waits for the lock, then finds entry 1.
    Two people who want one address meet at its unique constraint. ``ask.darkroom_id`` is not used.
    """
    with transaction.atomic(durable=True):
        founder = Person.objects.select_for_update(no_key=True).filter(pk=ask.person_id, is_active=True).first()
        if founder is None:
            raise NotFound("thing.unknown", "There is nothing here by that name.")
        made_before = Entry.objects.filter(by__person=founder, act=Act.DARKROOM_CREATE)
        if earlier := made_before.filter(key=ask.key).first():
            membership(earlier.darkroom_id, founder.pk)
            return replay(earlier, ask)
        now = clock.now()
        if made_before.filter(recorded_at__gt=now - timedelta(days=1)).count() >= NEW_PER_DAY:
            words = f"One person opens at most {NEW_PER_DAY} darkrooms in a day. Wait until tomorrow."
            raise NotAllowed("darkroom.too_many", words, per_day=NEW_PER_DAY)
        _judge(settings)
        room = _open(slug, settings, now)
        head = Head.objects.create(darkroom=room)
        admin = Membership.objects.create(darkroom=room, person=founder, is_admin=True, joined_at=now)
        work = Work(room, admin, None, Act.DARKROOM_CREATE, head.seq + 1, now, now)
        _furnish(work)
        return settle(head, work, ask, room)


def _open(slug: str, settings: dict[str, Any], now: datetime) -> Darkroom:
    room, is_new = Darkroom.objects.get_or_create(slug=slug, defaults={**settings, "created_at": now})
    if is_new:
        return room
    raise Clash("darkroom.address_taken", "That address is taken. Choose another, such as one with the town's name.")


def _furnish(work: Work) -> None:
    """Give a new darkroom the topics it starts with, and record its creator's roles."""
    RoleChange.objects.bulk_create(
        RoleChange(membership=work.by, role=role, held=True, at=work.recorded_at, entry_id=work.entry_id)
        for role in (Role.MEMBER, Role.ADMIN)
    )
    for wording in topic.STARTERS:
        topic.add_locked(work, wording)


def _judge(settings: dict[str, Any]) -> None:
    zone = settings.get("zone")
    if zone is not None and zone not in _zones():
        words = "No such time zone is known. Give a name such as Europe/Berlin, America/New_York or UTC."
        raise Malformed("zone.unknown", words, pointer="/zone")
    currency = settings.get("currency")
    if currency is not None and not CURRENCY.fullmatch(currency):
        words = "A currency is three capital letters, such as EUR, GBP or USD."
        raise Malformed("currency.malformed", words, pointer="/currency")


@cache
def _zones() -> set[str]:
    """Read the names of all time zones once: it walks a folder tree."""
    return available_timezones()


@command(Act.DARKROOM_EDIT)
def edit(work: Work, changes: dict[str, Any], *, unchanged: Callable[[int], None]) -> Edited:
    """Change settings. ``unchanged`` is given the version found under the lock and refuses it if another was read."""
    room = work.darkroom
    unchanged(room.version)
    _judge(changes)
    changed = {}
    for name in sorted(EDITABLE & changes.keys()):
        before = getattr(room, name)
        if before != changes[name]:
            setattr(room, name, changes[name])
            changed[name] = {} if name in FREE_TEXT else {"from": before, "to": changes[name]}
    room.version += 1
    room.save(update_fields=[*changed, "version"])
    if "zone" in changed:
        for redate in ON_ZONE:
            redate(work)
    return Edited(room, changed)


def qualified(room: Darkroom) -> int:
    """Return how many people here could be a second person: the active technicians and instructors."""
    return Membership.objects.holding(Role.TECHNICIAN, Role.INSTRUCTOR).filter(darkroom=room).count()
