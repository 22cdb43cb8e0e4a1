"""The waste log as files: each is written in a stream, and twice the same for the same instant."""

import csv
import io
import json
import re
import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import IO, Any
from zoneinfo import ZoneInfo

from darkroom_service.drawing.papers import Document
from darkroom_service.refusal import Unworkable
from waste.api.logcells import COLUMNS, NUMERIC, Cells, instant, lines, made_safe, ml, rows, whole
from waste.commands.log import Log, People, Total

CHUNK = 64 * 1024
SHEET_ROWS = 1_000_000
MOST_ON_PAPER = 5000
EPOCH = (1980, 1, 1, 0, 0, 0)
MODIFIED = re.compile(rb"(<dcterms:(created|modified)[^>]*>)[^<]*")


def csv_file(log: Log, people: People) -> Iterator[bytes]:
    """Write comma-separated values (RFC 4180): UTF-8, CRLF, a header, text cells that start no formula."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows(log, people):
        writer.writerow(made_safe(row))
        if buffer.tell() >= CHUNK:
            yield _taken(buffer)
    yield _taken(buffer)


def json_file(log: Log, people: People) -> Iterator[bytes]:
    """Write one JSON object: what was asked, the lines, the totals, the record's head. Numbers are decimal strings."""
    top = {
        "darkroom": log.darkroom.slug, "as_of": instant(log.as_of), "from": _day(log.first), "to": _day(log.last),
        "columns": COLUMNS,
    }  # fmt: skip
    buffer = io.StringIO()
    buffer.write(json.dumps(top, ensure_ascii=False)[:-1] + ', "items": [')
    between, names = "", list(COLUMNS)
    for line in lines(log, people):
        told = {name: cell for name, cell in zip(names, line, strict=True) if cell}
        buffer.write(between + json.dumps(told, ensure_ascii=False, separators=(",", ":")))
        between = ",\n"
        if buffer.tell() >= CHUNK:
            yield _taken(buffer)
    totals = [{"stream": code, **_sums(log.totals[code])} for code in sorted(log.totals)]
    end = {"totals": totals, "total": _sums(whole(log)), "record": {"entry": log.seq, "sha256": log.head}}
    buffer.write("], " + json.dumps(end, ensure_ascii=False)[1:] + "\n")
    yield _taken(buffer)


def xlsx_file(log: Log, people: People) -> IO[bytes]:
    """Write a workbook into a temporary file: numbers as numbers, everything else as text, never a formula."""
    from openpyxl import Workbook  # noqa: PLC0415  slow to load, and seldom asked for

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Waste log")
    sheet.append(list(COLUMNS))
    for number, row in enumerate(rows(log, people), 1):
        if number % SHEET_ROWS == 0:
            sheet = book.create_sheet(f"Waste log {number // SHEET_ROWS + 1}")
            sheet.append(list(COLUMNS))
        sheet.append(_sheet_cells(sheet, row))
    with tempfile.TemporaryFile() as raw:
        book.save(raw)
        return _steadied(raw, instant(log.as_of).encode())


def pdf_file(log: Log, people: People) -> bytes:
    """Write a paged paper of at most so many lines, which are all in memory at once."""
    printed = log.as_of.astimezone(ZoneInfo(log.darkroom.zone))
    period = f"{_day(log.first) or 'the beginning'} to {_day(log.last) or 'now'}"
    footer = f"Record: entry {log.seq}, SHA-256 {log.head}"
    paper = Document(f"Waste log of {log.darkroom.name}", f"From {period}, as of {instant(log.as_of)}", printed, footer,
                     landscape=True)  # fmt: skip
    paper.table(PAPER, _paper_rows(log, people))
    paper.heading("Totals in mL")
    sums = [*((code, log.totals[code]) for code in sorted(log.totals)), ("all", whole(log))]
    columns = [("stream", 50.0, "L"), *((name, 30.0, "R") for name in _sums(Total()))]
    paper.table(columns, [[code, *_sums(total).values()] for code, total in sums])
    return paper.bytes()


PAPER = [
    ("when, kind", 34.0, "L"), ("nature", 34.0, "L"), ("container", 22.0, "L"), ("in mL", 18.0, "R"),
    ("out mL", 18.0, "R"), ("drain mL", 18.0, "R"), ("found mL", 18.0, "R"), ("origin", 50.0, "L"),
    ("destination, transport, treatment", 55.0, "L"), ("by", 20.0, "L"),
]  # fmt: skip


def _paper_rows(log: Log, people: People) -> Iterator[Cells]:
    for number, row in enumerate(rows(log, people)):
        if number > MOST_ON_PAPER:
            words = f"A paper has at most {MOST_ON_PAPER} lines. Ask for a shorter period, or for csv, json or xlsx."
            raise Unworkable("waste_log.too_long", words, lines=MOST_ON_PAPER)
        told = dict(zip(COLUMNS, row, strict=True))
        if told["kind"] in {"total", "record"}:
            continue
        gone = (told[name] for name in ("destination", "carrier", "document", "frequency", "transport", "treatment"))
        yield [
            f"{told['at'][:16].replace('T', ' ')} {told['kind']}", f"{told['list_code']} {told['stream']}".strip(),
            told["container"], told["into_ml"], told["out_ml"], told["drain_ml"], told["found_ml"], told["origin"],
            ", ".join(filter(None, gone)), " for ".join(filter(None, (told["by"], told["on_behalf_of"]))),
        ]  # fmt: skip


def _sums(total: Total) -> dict[str, str]:
    return {
        "opening_ml": ml(total.opening), "into_ml": ml(total.came), "out_ml": ml(total.left),
        "drain_ml": ml(total.drained), "found_ml": ml(total.found), "closing_ml": ml(total.closing),
        "collections": str(total.pickups),
    }  # fmt: skip


def _sheet_cells(sheet: Any, row: Iterable[str]) -> list[Any]:
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE  # noqa: PLC0415

    cells: list[Any] = []
    for cell, number in zip(row, NUMERIC, strict=True):
        if number and cell:
            cells.append(Decimal(cell))
        elif cell.startswith(DANGEROUS_IN_SHEETS):
            made = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("", cell))
            made.data_type = "s"
            cells.append(made)
        else:
            cells.append(ILLEGAL_CHARACTERS_RE.sub("", cell) or None)
    return cells


# The library takes a text of = for a formula and one of # for an error.
DANGEROUS_IN_SHEETS = ("=", "#")


def _steadied(raw: IO[bytes], stamp: bytes) -> IO[bytes]:
    """Copy a workbook with the times of its making replaced, so that the same log gives the same bytes."""
    raw.seek(0)
    made: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115  closed by who sends it
    with zipfile.ZipFile(raw) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = zipfile.ZipInfo(name, EPOCH)
            part.compress_type = zipfile.ZIP_DEFLATED
            if name == "docProps/core.xml":
                new.writestr(part, MODIFIED.sub(rb"\g<1>" + stamp, old.read(name)))
            else:
                with old.open(name) as source, new.open(part, "w", force_zip64=True) as target:
                    shutil.copyfileobj(source, target, CHUNK)
    made.seek(0)
    return made


def _taken(buffer: io.StringIO) -> bytes:
    text = buffer.getvalue()
    buffer.seek(0)
    buffer.truncate()
    return text.encode()


def _day(day: Any) -> str | None:
    return day.isoformat() if day else None
