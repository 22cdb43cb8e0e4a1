"""The columns of the waste log, alike in every format, and how a cell is written so that no program runs it."""

from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal

from waste.commands.log import Line, Log, People, Total

# name: what stands in it. Columns whose names end in _ml or _kg, and entry, are numbers.
COLUMNS = {
    "at": "When it happened, UTC.",
    "recorded_at": "When it was written down, UTC.",
    "entry": "The number of its entry in the darkroom's record.",
    "kind": "fill, collection, emptying, drain, or one of these taken back; total and record at the end.",
    "id": "Of the fill, collection or drain release.",
    "stream": "Nature: the code of the kind of waste.",
    "list_code": "Nature: its List of Waste code at that time.",
    "container": "The code on the container's label.",
    "into_ml": "Quantity that came into the container.",
    "out_ml": "Quantity that left it with a pickup, or was poured on.",
    "drain_ml": "Quantity that went down the drain; out of a container it stands under out_ml too.",
    "found_ml": "What was in it beyond the record; below zero, what was missing.",
    "mass_kg": "Its weight, where told.",
    "origin": "Where it came from.",
    "destination": "Where it went, with the authorisation of the site.",
    "carrier": "Who took it, with their authorisation.",
    "document": "The number of the consignment note, manifest or receipt.",
    "frequency": "How often it is collected, by the pickup; in totals, the number of collections.",
    "transport": "How it was transported.",
    "treatment": "How it is treated.",
    "flags": "The rules a report broke.",
    "by": "Who wrote it down: a pseudonym, unless names were asked for.",
    "on_behalf_of": "Whose doing it was, where another wrote it down.",
}
NUMBERS = frozenset({"entry", "into_ml", "out_ml", "drain_ml", "found_ml", "mass_kg"})
NUMERIC = tuple(name in NUMBERS for name in COLUMNS)
TEXTS = tuple(place for place, number in enumerate(NUMERIC) if not number)
DANGEROUS = frozenset("=+-@\t\r\n\0")
Cells = list[str]


def safe(text: str) -> str:
    """Return a text cell that a spreadsheet reads as text (ASVS 5.0, 1.2.10): an apostrophe disarms a formula."""
    return f"'{text}" if text[:1] in DANGEROUS else text


def made_safe(row: Cells) -> Cells:
    """Return a row whose text cells are all safe; numbers stay, and so do signs before them."""
    for place in TEXTS:
        if row[place][:1] in DANGEROUS:
            row[place] = safe(row[place])
    return row


def lines(log: Log, people: People) -> Iterator[Cells]:
    """Yield the lines; raw, not yet safe. After the last of them the log's totals are complete."""
    for line in log.lines():
        yield _line(line, people)


def rows(log: Log, people: People) -> Iterator[Cells]:
    """Yield the lines, then a total for each stream and for all, then the head of the record; raw, not yet safe."""
    yield from lines(log, people)
    for code in sorted(log.totals):
        yield _total(code, log.totals[code])
    yield _total("", whole(log))
    yield head(log)


def whole(log: Log) -> Total:
    """Return the sum over all streams."""
    names = ("opening", "came", "left", "drained", "found", "pickups")
    return Total(**{name: sum(getattr(each, name) for each in log.totals.values()) for name in names})


def head(log: Log) -> Cells:
    """Return the row that ties the log to the darkroom's record: its hash and the instant."""
    told = {"at": instant(log.as_of), "entry": str(log.seq), "kind": "record"}
    return _row(told | {"origin": f"SHA-256 of the record's entry {log.seq}: {log.head}"})


def instant(at: datetime) -> str:
    """Return an instant in UTC, with Z."""
    return (at if at.tzinfo is UTC else at.astimezone(UTC)).isoformat()[: -len("+00:00")] + "Z"


def ml(count: int) -> str:
    """Return a count of 0.1 mL as millilitres; exact, and quick for a million rows."""
    if not count:
        return "0.0"
    whole_ml, tenth = divmod(abs(count), 10)
    return f"{'-' if count < 0 else ''}{whole_ml}.{tenth}"


def _line(line: Line, people: People) -> Cells:
    return [
        instant(line.at), instant(line.recorded_at), str(line.seq), line.kind, str(line.id), line.stream,
        line.list_code, line.container, ml(line.came), ml(line.left), ml(line.drained), ml(line.found),
        "" if line.mass_g is None else f"{Decimal(line.mass_g).scaleb(-3):f}", line.origin, line.destination,
        line.carrier, line.document_number, line.frequency, line.transport, line.treatment, line.flags,
        people(line.by), people(line.whom),
    ]  # fmt: skip


def _total(code: str, total: Total) -> Cells:
    said = f"opening {ml(total.opening)} mL, closing {ml(total.closing)} mL"
    return _row({
        "kind": "total", "stream": code, "into_ml": ml(total.came), "out_ml": ml(total.left),
        "drain_ml": ml(total.drained), "found_ml": ml(total.found), "origin": said,
        "frequency": f"{total.pickups} collections",
    })  # fmt: skip


def _row(told: dict[str, str]) -> Cells:
    return [told.get(name, "") for name in COLUMNS]
