"""Breaks between terms: written down by who plans the year."""

from collections.abc import Callable
from datetime import date
from typing import Any

from accounts.acts import Act
from accounts.commands.entry import Work, command
from chemistry.models import TermBreak
from darkroom_service.refusal import Clash, Malformed

LONGEST_DAYS = 200
EDITABLE = frozenset({"name", "first_day", "last_day"})


@command(Act.TERM_BREAK_EDIT)
def create(work: Work, *, name: str, first_day: date, last_day: date) -> TermBreak:
    """Write a break down; both days are within it."""
    _judge(first_day, last_day)
    return TermBreak.objects.create(darkroom=work.darkroom, name=name, first_day=first_day, last_day=last_day)


@command(Act.TERM_BREAK_EDIT)
def edit(work: Work, row: TermBreak, changes: dict[str, Any], *, unchanged: Callable[[int], None]) -> TermBreak:
    """Change a break that stands. ``unchanged`` is given the version found under the lock."""
    row = _standing(row)
    unchanged(row.version)
    changed = sorted(EDITABLE & changes.keys())
    for name in changed:
        setattr(row, name, changes[name])
    _judge(row.first_day, row.last_day)
    row.version += 1
    row.save(update_fields=[*changed, "version"])
    return row


@command(Act.TERM_BREAK_EDIT)
def cancel(work: Work, row: TermBreak) -> TermBreak:
    """Take a break back: it counts no more."""
    row = _standing(row)
    row.cancelled_at = work.recorded_at
    row.version += 1
    row.save(update_fields=["cancelled_at", "version"])
    return row


def _standing(row: TermBreak) -> TermBreak:
    """Return the break as it stands now, under the lock."""
    row = TermBreak.objects.get(pk=row.pk)
    if row.cancelled_at is None:
        return row
    raise Clash("break.cancelled", "This break was taken back. Write a new one down.", cancelled_at=row.cancelled_at)


def _judge(first_day: date, last_day: date) -> None:
    if last_day < first_day:
        words = "The last day comes before the first. Both are within the break; one day is first and last."
        raise Malformed("break.reversed", words, pointer="/last_day")
    if (last_day - first_day).days >= LONGEST_DAYS:
        words = f"A break has at most {LONGEST_DAYS} days. Give the one between two terms; the rest is another."
        raise Malformed("break.long", words, pointer="/last_day", days=LONGEST_DAYS)
