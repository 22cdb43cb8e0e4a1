"""What is due, of every kind and in every darkroom, found set-wise and written into inboxes exactly once.

The days are calendar days of each darkroom's zone. Whatever runs this, and however often, one row comes of one thing
due to one person on one day: the unique constraint sees to it. Rows that are there already are left out beforehand,
since a refused insert costs more than a look.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

import structlog
from django.db import DatabaseError, connection, transaction
from django.db.models import Exists, Max, Min, OuterRef, Q

import accounts.notices
import chemistry.notices
import waste.notices
from accounts.commands import notice, outbox
from accounts.models import Darkroom, Notice, NoticeLead, NoticeLook
from darkroom_service.due import DAYS, Dialect, Due, Involved, kind
from darkroom_service.localday import day_of

log = structlog.get_logger(__name__)
KINDS = (*accounts.notices.KINDS, *waste.notices.KINDS, *chemistry.notices.KINDS)
BY_KIND = {due.kind: due for due in KINDS}
LATELY = timedelta(days=14)
ROOMS_A_SWEEP = 20  # of a forecast each: with a sweep every 30 s, some 50,000 darkrooms in a day

# Rows are found, joined to their readers and matched with what was told in one pass. The words stand in no CTE that is
# kept, so that the engine makes them of what is new only.
INSERT = """
INSERT INTO accounts_notice (
    public_id, darkroom_id, to_id, kind, subject, due_on, text, path, safety, posted_at)
WITH today (zone, day) AS (VALUES {days})
SELECT {new_id}, f.darkroom_id, m.id, %(kind)s, f.subject, f.due_on,
    substr(CASE WHEN m.id = f.person_id THEN f.own_text ELSE f.text END, 1, 1000), f.path, %(safety)s, %(now)s
FROM ({find}) f
{told}
JOIN accounts_person p ON p.id = m.person_id AND p.is_active
WHERE NOT EXISTS (
    SELECT 1 FROM accounts_notice n
    WHERE n.to_id = m.id AND n.kind = %(kind)s AND n.subject = f.subject AND n.due_on = f.due_on){unmuted}
ON CONFLICT DO NOTHING
RETURNING id
"""
STILL = """
WITH today (zone, day) AS (VALUES {days})
SELECT EXISTS (
    SELECT 1 FROM ({find}) f WHERE f.darkroom_id = %(room)s AND f.subject = %(subject)s AND f.due_on = %(due_on)s)
"""
ANY_NEAR = "EXISTS (SELECT 1 FROM {table} WHERE {near})"
_CREW = "JOIN accounts_membership m ON m.darkroom_id = f.darkroom_id AND m.left_at IS NULL AND "
TOLD = {
    Involved.NOT_ASKED: _CREW + "{roles}",
    # Joined by equality alone, since of all kinds the vessels are most: either the person named, or each of the crew.
    Involved.INSTEAD: """LEFT JOIN (
    SELECT m.id, m.darkroom_id FROM accounts_membership m WHERE m.left_at IS NULL AND {roles}) c
    ON c.darkroom_id = f.darkroom_id AND f.person_id IS NULL
JOIN accounts_membership m ON m.id = COALESCE(f.person_id, c.id) AND m.left_at IS NULL""",
    Involved.TOO: _CREW + "(m.id = f.person_id OR {roles})",
    Involved.EXCEPT: _CREW + "(f.person_id IS NULL OR m.id <> f.person_id) AND {roles}",
}
UNMUTED = """
    AND NOT EXISTS (SELECT 1 FROM accounts_noticemute u WHERE u.member_id = m.id AND u.kind = %(kind)s)"""
WEST, EAST = timedelta(hours=-12), timedelta(hours=14)  # no clock on earth is farther from UTC


@dataclass(frozen=True)
class Calendar:
    """The instant of a sweep, the leads in force of each kind, from and to, and the local day it is in each zone."""

    at: datetime
    leads: dict[str, tuple[int, int]]
    zone: str | None = None  # only the darkrooms of this zone, where only one is asked about

    @classmethod
    def read(cls, at: datetime, zone: str | None = None, **of: Any) -> "Calendar":
        """Read what leads darkrooms have set; ``of`` keeps those that matter, where not all do."""
        rows = NoticeLead.objects.filter(**of).values("kind").annotate(least=Min("lead"), most=Max("lead"))
        return cls(at, {row["kind"]: (row["least"], row["most"]) for row in rows.order_by("kind")}, zone)

    @cached_property
    def today(self) -> dict[str, date]:
        """Read which zones there are, once it matters: that goes through all darkrooms."""
        zones = (
            [self.zone] if self.zone else Darkroom.objects.order_by("zone").values_list("zone", flat=True).distinct()
        )
        return {zone: day_of(self.at, zone) for zone in zones}

    def dialect(self, due: Due) -> Dialect:
        """Return how to say a kind here; its bounds are wide enough for whatever zone and lead there is."""
        nearest, latest, own = (self.at + WEST).date(), (self.at + EAST).date(), due.lead()
        least, most = self.leads.get(due.kind, (own, own))
        in_days = kind(due.kind).unit == DAYS
        ahead, behind = (max(most, own), min(least, own)) if in_days else (0, 0)
        lite = connection.vendor == "sqlite"
        return Dialect(lite, due.near, nearest, latest + timedelta(days=ahead), latest - timedelta(days=behind))


def sweep(at: datetime) -> dict[str, int]:
    """Write what is due at an instant into inboxes, and queue its delivery; returns how many rows of each kind."""
    calendar = Calendar.read(at)
    dues = _near(KINDS, calendar)
    if dues and connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET jit = off")  # compiling takes longer than any of these statements runs
    posted: dict[str, int] = {}
    failed: list[Exception] = []
    for due in dues:
        try:
            posted[due.kind] = post(due, calendar)
        except DatabaseError as fault:  # one kind's fault keeps no other from being told
            failed.append(fault)
    if failed:
        raise failed[0]
    return posted


def look_ahead(at: datetime) -> int:
    """Look ahead in the next darkrooms of those not yet looked through on their local day; returns how many rows.

    A forecast is worked out for each darkroom, so this goes on from where it stopped, a few darkrooms at a time.
    """
    calendar, kind, written = Calendar(at, {}), chemistry.notices.STOCK, 0
    seen = NoticeLook.objects.filter(darkroom=OuterRef("pk"), kind=kind)
    fresh = Q(pk=None)
    for day in set(calendar.today.values()):
        zones = [zone for zone, its in calendar.today.items() if its == day]
        fresh |= Q(~Exists(seen.filter(day__gte=day)), zone__in=zones)
    for room in Darkroom.objects.filter(fresh).order_by("pk")[:ROOMS_A_SWEEP]:
        with transaction.atomic():
            day = calendar.today[room.zone]
            NoticeLook.objects.update_or_create(darkroom=room, kind=kind, defaults={"day": day})
            written += notice.write(chemistry.notices.stock_to_make(room, calendar.at))
    return written


def _near(dues: Sequence[Due], calendar: Calendar) -> Sequence[Due]:
    """Keep the kinds of which anything may be due, told or not, by one question each to one index, all at once."""
    asked = [ANY_NEAR.format(table=due.table, near=calendar.dialect(due).words()["near"]) for due in dues]
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SELECT " + ", ".join(asked), _instants(calendar))
            row = cursor.fetchone()
    except DatabaseError:
        return dues  # each is tried by itself, and the one at fault is named
    return [due for due, any_near in zip(dues, row, strict=True) if any_near]


def post(due: Due, calendar: Calendar) -> int:
    """Write one kind's rows in one statement, and queue their deliveries in the same transaction."""
    statement, told = statement_of(due, calendar)
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute(statement, told)
            ids = [row[0] for row in cursor.fetchall()]
        if ids:
            outbox.queue(ids)
    return len(ids)


def still_due(row: Notice) -> bool:
    """Tell whether a notice would be written, for all that is known now, at the instant it was: its cause stands.

    Asked as of that instant, so that a clock that goes back takes nothing out of the mail. What no sweep finds stands.
    """
    due = BY_KIND.get(row.kind)
    if due is None:
        return True
    calendar = Calendar.read(row.posted_at, row.darkroom.zone, darkroom=row.darkroom_id, kind=row.kind)
    dialect = calendar.dialect(due)
    words = dialect.words()
    statement = STILL.format(days=dialect.days(calendar.today), find=due.find.format(**words))
    asked: dict[str, Any] = {
        "kind": due.kind, "lead": due.lead(), "room": row.darkroom_id, "subject": row.subject,
        "due_on": connection.ops.adapt_datefield_value(row.due_on),
    }  # fmt: skip
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement, asked | _zones(calendar) | _instants(calendar))
            return bool(cursor.fetchone()[0])
    except DatabaseError:
        log.exception("still_due_failed", kind=row.kind)
        return True  # rather told twice than not at all


def statement_of(due: Due, calendar: Calendar) -> tuple[str, dict[str, Any]]:
    """Return the statement that writes a kind's rows, and its parameters."""
    dialect = calendar.dialect(due)
    words = dialect.words()
    find, safety = due.find.format(**words), kind(due.kind).safety
    statement = INSERT.format(
        days=dialect.days(calendar.today), find=find, told=TOLD[due.involved].format(roles=due.roles),
        unmuted="" if safety else UNMUTED, **words,
    )  # fmt: skip
    told = {"kind": due.kind, "lead": due.lead(), "safety": safety}
    return statement, told | _zones(calendar) | _instants(calendar)


def _zones(calendar: Calendar) -> dict[str, Any]:
    return {f"z{place}": zone for place, zone in enumerate(calendar.today)}


def _instants(calendar: Calendar) -> dict[str, Any]:
    adapt = connection.ops.adapt_datetimefield_value
    return {"now": adapt(calendar.at), "lately": adapt(calendar.at - LATELY)}
