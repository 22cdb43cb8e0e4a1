"""Measure the sweep beside plain SQL, in a database of its own that is dropped afterwards: PostgreSQL only.

``python -m darkroom_service bench_sweep --vessels 200000`` makes so many vessels in a fiftieth of as many darkrooms
and prints medians of interleaved rounds: the whole sweep beside one plain statement that writes the same inbox rows
and the same mails to send; the sweep again, when all is told, beside a SELECT that counts what is due; and both when
nothing is due at all. The sweep looks for every kind there is; the plain statements know the three kinds of vessels
that are due here, and nothing of mutes, own leads, roles that nobody holds, or what was told before.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from statistics import median
from time import perf_counter
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.test.utils import override_settings

from accounts.models import Darkroom
from darkroom_service import notices
from darkroom_service.localday import day_of

ROUNDS, QUICK_ROUNDS = 5, 25
PER_ROOM = 50
ZONES = ("Europe/Berlin", "Europe/London", "America/New_York", "Asia/Kathmandu", "Pacific/Auckland")
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)

# A technician and four members to a darkroom. Of 100 vessels 8 are past their date, 5 near it and 2 nearly used up.
FILL = (
    """INSERT INTO accounts_person (public_id, username, email, name, password, is_active, joined_at)
    SELECT gen_random_uuid(), 'p' || n, 'p' || n || '@example.org', 'Person ' || n, '!', TRUE, %(now)s
    FROM generate_series(1, %(people)s) n""",
    """INSERT INTO accounts_darkroom ({room})
    SELECT {room_values} FROM generate_series(1, %(rooms)s) n""",
    """INSERT INTO accounts_membership (public_id, darkroom_id, person_id, is_member, is_technician, is_instructor,
        is_admin, joined_at, version)
    SELECT gen_random_uuid(), d.id, p.id, TRUE, k = 1, FALSE, k = 2, %(now)s, 1
    FROM (SELECT id, row_number() OVER (ORDER BY id) AS n FROM accounts_darkroom) d CROSS JOIN generate_series(1, 5) k
    JOIN (SELECT id, row_number() OVER (ORDER BY id) AS n FROM accounts_person) p ON p.n = (d.n - 1) * 5 + k""",
    """INSERT INTO chemistry_vessel (public_id, code, darkroom_id, name, nominal, material, state, use, film_or_paper,
        contents, basis, load, area, load_limit, replenish_owed, filled_at, oxygen_low, oxygen_high,
        worst_left_at_pass, use_by, use_by_rule, version)
    SELECT gen_random_uuid(), 'V' || n, d.id, 'Stock bottle ' || n, 9460, 'glass', 'ready', 'reuse', 'film',
        9000, 9460, CASE WHEN n %% 100 >= 98 THEN 12000 ELSE 3600 END, 0, 13622, 0, %(now)s - interval '100 days',
        0, 0, 1, DATE '2026-11-25' + CASE WHEN n %% 100 < 8 THEN -3 - n %% 20 WHEN n %% 100 < 13 THEN 2 + n %% 5
            ELSE 60 + n %% 100 END, 'made on 25 May 2026: 6 months full and tight', 1
    FROM generate_series(1, %(vessels)s) n
    JOIN (SELECT id, row_number() OVER (ORDER BY id) AS k FROM accounts_darkroom) d ON d.k = 1 + (n - 1) / 50""",
)  # fmt: skip

# What somebody would write by hand who wanted these three kinds alone, with no leads of their own, nothing muted, and
# the same indexes: bounded by the latest day there is anywhere.
PLAIN = """
WITH today (zone, day) AS (VALUES {days}),
found AS (
    SELECT 'vessel-near-expiry' AS kind, v.darkroom_id, v.public_id, v.use_by AS due_on,
        v.name || ' (' || code || ') is good until ' || to_char(use_by, 'YYYY-MM-DD') || ': ' || use_by_rule
            || '. Use it up first, or have it tested before then.' AS text
    FROM chemistry_vessel v JOIN accounts_darkroom d ON d.id = v.darkroom_id JOIN today t ON t.zone = d.zone
    WHERE v.contents > 0 AND v.use_by BETWEEN DATE '2026-11-25' AND DATE '2026-12-03'
        AND v.use_by BETWEEN t.day AND t.day + 7 AND v.state IN ('waiting', 'ready', 'test_first')
    UNION ALL
    SELECT 'vessel-expired', v.darkroom_id, v.public_id, v.use_by,
        v.name || ' (' || code || ') was good until ' || to_char(use_by, 'YYYY-MM-DD') || ': ' || use_by_rule
            || '. Test it before anybody uses it again, or empty it to waste.'
    FROM chemistry_vessel v JOIN accounts_darkroom d ON d.id = v.darkroom_id JOIN today t ON t.zone = d.zone
    WHERE v.contents > 0 AND v.use_by < DATE '2026-11-26' AND v.use_by < t.day
        AND v.state IN ('waiting', 'ready', 'test_first')
    UNION ALL
    SELECT 'vessel-near-capacity', v.darkroom_id, v.public_id, (v.filled_at AT TIME ZONE d.zone)::date,
        v.name || ' (' || code || ') has done ' || load * 100 / load_limit
            || ' %% of the film or paper it can. Have the next one ready before it is spent.'
    FROM chemistry_vessel v JOIN accounts_darkroom d ON d.id = v.darkroom_id
    WHERE v.contents > 0 AND v.load >= (v.load_limit / 2) AND v.load * 100 >= v.load_limit * 80
        AND v.state IN ('ready', 'test_first', 'spent'))
"""
_INTO = (
    "INSERT INTO accounts_notice (public_id, darkroom_id, to_id, kind, subject, due_on, text, path, safety, posted_at)"
)
_WRITTEN = """
SELECT gen_random_uuid(), f.darkroom_id, m.id, f.kind, 'vessel:' || f.public_id, f.due_on, f.text,
    'vessels/' || f.public_id, FALSE, %(now)s
FROM found f JOIN accounts_membership m ON m.darkroom_id = f.darkroom_id AND m.is_technician AND m.left_at IS NULL
ON CONFLICT DO NOTHING
RETURNING id, to_id, posted_at
"""
_MAILED = """
INSERT INTO accounts_delivery (public_id, notice_id, channel, event, state, due_at, tries, fence, error)
SELECT gen_random_uuid(), w.id, 'email', NULL, 'waiting', w.posted_at, 0, 0, ''
FROM written w JOIN accounts_membership m ON m.id = w.to_id JOIN accounts_person p ON p.id = m.person_id
WHERE p.email <> '' AND p.is_active
"""
PLAIN_INSERT = "".join(["WITH written AS (", _INTO, PLAIN, _WRITTEN, ")", _MAILED])
PLAIN_COUNT = "".join([PLAIN, "SELECT COUNT(*) FROM found"])


NOTE = (
    "The sweep looks for every kind, and writes inbox rows and mails to send; the plain statement writes the same rows"
    " of the three kinds due here, and the SELECT counts those, each in one statement that knows of no other rule."
)


class Command(BaseCommand):
    """``bench_sweep [--vessels N]``: prints seconds and ratios; its database stands beside the configured one."""

    help = "Measure the sweep beside plain SQL, in a throwaway PostgreSQL database."
    requires_system_checks: list[str] = []  # it asks nothing of the addresses

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--vessels", type=int, default=10_000, help="how many vessels (50 to a darkroom)")

    def handle(self, *args: Any, vessels: int, **options: Any) -> None:
        if connection.vendor != "postgresql":
            raise CommandError("this is measured on PostgreSQL: set DATABASE_URL")
        with throwaway(), override_settings(MAIL_READY=True):
            rooms = fill(vessels)
            self.stdout.write(f"{vessels} vessels in {rooms} darkrooms, medians in seconds")
            self.stdout.write(NOTE)
            self._compare("all due: plain statement", "sweep", _plain, _sweep, before=_forget)
            _sweep()
            run("VACUUM ANALYZE accounts_notice, accounts_delivery")  # as the server itself does before long
            self._compare("all told: counting SELECT", "sweep", _count, _sweep)
            run("UPDATE chemistry_vessel SET use_by = DATE '2028-01-01', load = 0")
            _forget()
            run("VACUUM ANALYZE chemistry_vessel")
            self._compare("nothing due: counting SELECT", "sweep", _count, _sweep, rounds=QUICK_ROUNDS)

    def _compare(
        self, first: str, second: str, one: Callable[[], int], other: Callable[[], int], *,
        before: Callable[[], None] = lambda: None, rounds: int = ROUNDS,
    ) -> None:  # fmt: skip
        """Run two acts in turn, so many times each, and print their medians and the ratio."""
        times: dict[str, list[float]] = {first: [], second: []}
        found: dict[str, int] = {}
        for _ in range(rounds):
            for name, act in ((first, one), (second, other)):
                before()
                begun = perf_counter()
                found[name] = act()
                times[name].append(perf_counter() - begun)
        plain, ours = (median(each) for each in times.values())
        rows = " and ".join(f"{name}: {count}" for name, count in found.items())
        self.stdout.write(f"{first} {plain:.4f}, {second} {ours:.4f}, ratio {ours / plain:.2f} (rows - {rows})")


@contextmanager
def throwaway() -> Iterator[None]:
    """Point the connection at a new database of its own, migrated, and drop it at the end."""
    usual = connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    try:
        yield
    finally:
        connection.creation.destroy_test_db(usual, verbosity=0)


def fill(vessels: int) -> int:
    """Make the rows in bulk, past every command: this measures reading, and the database is dropped."""
    rooms = max(vessels // PER_ROOM, 1)
    told = {"now": NOW, "rooms": rooms, "people": rooms * 5, "vessels": vessels}
    columns, values = _room_row()
    for statement in FILL:
        run(statement.replace("{room}", columns).replace("{room_values}", values), told)
    run("VACUUM ANALYZE")
    run("SET jit = off")  # as the sweep does, so that both are measured alike
    run("SET statement_timeout = 0")
    return rooms


def _room_row() -> tuple[str, str]:
    """Return the columns of a darkroom and what stands in each: the model's own defaults, and its zone by turns."""
    own = {
        "public_id": "gen_random_uuid()", "slug": "'room-' || n", "name": "'Room ' || n", "created_at": "%(now)s",
        "zone": f"(ARRAY{list(ZONES)})[1 + n %% {len(ZONES)}]",
    }  # fmt: skip
    fields = {str(field.column): field for field in Darkroom._meta.concrete_fields if not field.primary_key}
    values = [own.get(column) or _literal(field) for column, field in fields.items()]
    return ", ".join(fields), ", ".join(values)


def _literal(field: Any) -> str:
    value = field.get_default()
    if value is None:
        return "NULL"
    return str(value) if isinstance(value, int) else "'[]'" if value == [] else f"'{value}'"


def run(statement: str, told: dict[str, Any] | None = None) -> int:
    """Run one statement; returns the count it selects, or the rows it wrote."""
    with connection.cursor() as cursor:
        cursor.execute(statement, told)
        return int(cursor.fetchone()[0]) if cursor.description else cursor.rowcount


def _forget() -> None:
    run("TRUNCATE accounts_notice CASCADE")


def _days() -> str:
    return ", ".join(f"('{zone}', DATE '{day_of(NOW, zone)}')" for zone in ZONES)


def _plain() -> int:
    return run(PLAIN_INSERT.replace("{days}", _days()), {"now": NOW})


def _count() -> int:
    return run(PLAIN_COUNT.replace("{days}", _days()), {})


def _sweep() -> int:
    return sum(notices.sweep(NOW).values())
