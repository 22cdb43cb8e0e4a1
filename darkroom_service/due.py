"""What a notice can be about, and how an app says in SQL what is due: plain values, below every app.

A ``Due`` finds what is due over all darkrooms at once: a query of ``darkroom_id, person_id, subject, due_on, text,
own_text, path``, where ``own_text`` is for the person named. It is written in SQL that both engines read, with a few
words in braces for what they say differently: see ``Dialect``. It may use the table ``today (zone, day)``, the joins
that ``{room:...}`` stands for, and the parameters ``%(now)s``, ``%(lately)s`` (two weeks before) and ``%(lead)s``.

``near`` is a condition on one table that whatever is due must meet, answered by an index and without ``today``,
``{room:...}`` or a lead. The query says ``{near}`` where it belongs, so that what the cheap question leaves out the
query would leave out too.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

DAYS, PERCENT, PACKS = "days", "percent", "packs"


@dataclass(frozen=True)
class Kind:
    """A kind of notice. Of a safety kind nobody is spared; ``lead`` says how early, where a darkroom may choose."""

    title: str
    safety: bool = False
    lead: int | None = None
    unit: str = ""
    least: int = 0
    most: int = 0


def _days(title: str, lead: int, most: int, *, least: int = 1, safety: bool = False) -> Kind:
    return Kind(title, safety, lead, DAYS, least, most)


# Every lead is our own proposal, no source; a darkroom sets its own between the limits.
KINDS: dict[str, Kind] = {
    "batch-approved": Kind("A batch one asked for is approved"),
    "batch-flagged": Kind("A batch broke a rule", safety=True),
    "batch-rejected": Kind("A batch one asked for is rejected"),
    "batch-to-approve": _days("A batch waits for approval", 2, 30),
    "batch-to-release": _days("A batch waits for release", 2, 30),
    "batch-withdrawn": Kind("A batch is withdrawn", safety=True),
    "check-in-flagged": Kind("A check-in broke a rule"),
    "check-in-reversed": Kind("A check-in was taken back"),
    "container-caution": Kind("Something went into a container that asks for care"),
    "container-closed": Kind("Something went into a closed container", safety=True),
    "container-collected": Kind("Something went into a container that was collected", safety=True),
    "container-incompatible": Kind("Something went into a container that must not meet what it holds", safety=True),
    "container-near-full": Kind("A waste container is nearly full", False, 80, PERCENT, 50, 100),
    "container-over-rated": Kind("A container was told of more than it is made for", safety=True),
    "container-overfull": Kind("A container was filled over its working fill"),
    "container-quarantined": Kind("Something went into a quarantined container", safety=True),
    "container-time": _days("A waste container nears its time limit", 30, 180, safety=True),
    "container-unopened": Kind("Something went into a container before it was in use"),
    "container-unsound": Kind("A container is not in order"),
    "container-wrong-stream": Kind("Something went into a container of another kind of waste", safety=True),
    "drain-flagged": Kind("Something went down the drain against the rule", safety=True),
    "fixer-to-empty": Kind("A fixer is to be emptied"),
    "late-entry": Kind("A late entry changed what was known"),
    "pack-gone": Kind("A pack that a batch counted on is gone"),
    "pack-low": Kind("Sealed packs run low", False, 1, PACKS, 0, 50),
    "pack-near-date": _days("A sealed pack nears its date", 60, 365),
    "pack-past-date": Kind("A sealed pack is past its date"),
    "paperwork-missing": _days("A pickup's papers are missing", 7, 180, least=0),
    "pickup-differs": Kind("A pickup took more or less than recorded"),
    "pickup-due": _days("A pickup comes", 7, 60),
    "recall": Kind("Something one used may have been bad", safety=True),
    "report-flagged": Kind("A report broke a rule"),
    "sheet-old": _days("A safety data sheet is old", 1095, 3650, least=180),
    "sign-off-expiring": _days("A sign-off ends", 30, 180),
    "sign-off-lapses": Kind("A sign-off will have lapsed when a batch is mixed"),
    "sign-off-revoked": Kind("A sign-off was taken back", safety=True),
    "sign-off-stale": _days("A topic changed, and a sign-off ends with its old version", 30, 180),
    "stock-to-make": Kind("Something should be mixed or ordered"),
    "test-due": Kind("A control strip or clip test is due"),
    "test-void": Kind("A test was declared void", safety=True),
    "tick-stale": Kind("The clockwork stood still", safety=True),
    "topic-changed": Kind("A topic has a new version"),
    "vessel-expired": Kind("A vessel is past its date"),
    "vessel-loss": Kind("A vessel lost much liquid"),
    "vessel-near-capacity": Kind("A vessel has little life left", False, 80, PERCENT, 50, 100),
    "vessel-near-expiry": _days("A vessel nears its date", 7, 60),
    "vessel-stopped": Kind("A vessel was stopped", safety=True),
    "waste-incident": Kind("Something went wrong with waste", safety=True),
}  # fmt: skip
UNKNOWN = Kind("")


def kind(code: str) -> Kind:
    """Return a kind by its code; one not named here is muted like any other and has no lead."""
    return KINDS.get(code, UNKNOWN)


class Involved(StrEnum):
    """Whether the person a row names is told: it is not asked, instead of the roles, besides them, or not at all."""

    NOT_ASKED = "not_asked"
    INSTEAD = "instead"
    TOO = "too"
    EXCEPT = "except"


@dataclass(frozen=True)
class Due:
    """One kind's query, and whom to tell of each row: a condition on a membership ``m``, and the person named."""

    kind: str
    find: str
    roles: str
    table: str
    near: str
    involved: Involved = Involved.NOT_ASKED

    def lead(self) -> int:
        """Return how early it is told where a darkroom has not chosen."""
        return kind(self.kind).lead or 0


class _Word:
    """A word in braces: what stands behind its colon, split at bars, goes into a pattern."""

    def __init__(self, pattern: str) -> None:
        self.pattern = pattern

    def __format__(self, said: str) -> str:
        return self.pattern.format(*said.split("|"))


# SQLite keeps an id as 32 digits, a day as text, and makes no ids; the framework teaches it the time zones.
_SQLITE_ID = "substr({0},1,8)||'-'||substr({0},9,4)||'-'||substr({0},13,4)||'-'||substr({0},17,4)||'-'||substr({0},21)"
_SQLITE_NEW_ID = (
    "lower(hex(randomblob(6)) || '4' || substr(hex(randomblob(2)), 2)"
    " || '8' || substr(hex(randomblob(2)), 2) || hex(randomblob(6)))"
)
_ROOM = (
    "JOIN accounts_darkroom d ON d.id = {0} JOIN today t ON t.zone = d.zone"
    " LEFT JOIN accounts_noticelead l ON l.darkroom_id = d.id AND l.kind = %(kind)s"
)


@dataclass(frozen=True)
class Dialect:
    """How one engine says a few things.

    ``near`` is the kind's own condition; ``nearest`` is the earliest day it is now, anywhere; ``farthest`` is the
    latest date, anywhere, that may be near enough to be told now; ``oldest`` the latest date that may be old enough.
    """

    sqlite: bool
    near: str
    nearest: date
    farthest: date
    oldest: date

    def words(self) -> dict[str, object]:
        """Return the words a query may use in braces.

        ``{room:id}`` joins the darkroom d, its today t and its own lead l; ``{lead}`` is the lead in force;
        ``{near}`` is the kind's cheap condition, and ``{nearest}``, ``{farthest}`` and ``{oldest}`` bound an indexed
        day; ``{id:x}`` is an id and ``{day:x}`` a day as text; ``{plus:day|n}`` is a later day;
        ``{local:instant|zone}`` the local day of an instant, and ``{last:instant|zone}`` the day before, which is the
        last one of what ends then; ``{nobody}`` names no person; ``{new_id}`` is a new id.
        """
        lite = self.sqlite
        words: dict[str, object] = {
            "room": _Word(_ROOM),
            "lead": "COALESCE(l.lead, %(lead)s)",
            "nearest": self._date(self.nearest),
            "farthest": self._date(self.farthest),
            "oldest": self._date(self.oldest),
            "id": _Word(_SQLITE_ID if lite else "{0}::text"),
            "day": _Word("{0}" if lite else "to_char({0}, 'YYYY-MM-DD')"),
            "plus": _Word("date({0}, ({1}) || ' days')" if lite else "({0} + ({1}))"),
            "local": _Word("django_datetime_cast_date({0}, {1}, 'UTC')" if lite else "({0} AT TIME ZONE {1})::date"),
            "last": _Word(
                "date(django_datetime_cast_date({0}, {1}, 'UTC'), '-1 day')"
                if lite
                else "(({0} AT TIME ZONE {1})::date - 1)"
            ),
            "nobody": "CAST(NULL AS bigint)",
            "new_id": _SQLITE_NEW_ID if lite else "gen_random_uuid()",
        }
        return words | {"near": self.near.format(**words)}

    def days(self, zones: dict[str, date]) -> str:
        """Return the rows of the table of today's local day in each zone; zones are parameters z0, z1 and so on."""
        return ", ".join(f"(%(z{place})s, {self._date(day)})" for place, day in enumerate(zones.values()))

    def _date(self, day: date) -> str:
        return f"'{day}'" if self.sqlite else f"DATE '{day}'"
