"""The waste log: the sum of the ledger, the same bytes for the same instant, and nothing a spreadsheet would run."""

import csv
import io
import json
import re
from datetime import timedelta

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from accounts.models import Entry, Head
from darkroom_service import clock
from tests import make
from tests.waste.pail import can, do, poured
from tests.waste.test_pickup import confirmed, ready
from waste.api.logcells import COLUMNS, NUMBERS, ml, safe
from waste.commands import fill
from waste.models import Disclosure

pytestmark = pytest.mark.django_db
EVIL = "=HYPERLINK(1)"


def body(answer):
    assert answer.status_code == 200, answer.content
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


def read(speaker, form="csv", more=""):
    return body(speaker.get(f"waste-log?format={form}{more}"))


def table(data):
    return list(csv.DictReader(io.StringIO(data.decode(), newline="")))


@pytest.fixture
def lived(bo, eli):
    """A can poured into, one pour taken back, and collected."""
    held = can(bo)
    poured(bo, held, "250", text=EVIL)
    do(fill.reverse, bo, poured(bo, held, "100"), reason='Twice, with a "quote", and a comma')
    confirmed(eli, ready(bo, held))
    poured(bo, can(bo, "stop-bath"), "75.5")
    return held


def test_the_csv_has_every_column_and_its_sums_are_those_of_the_ledger(client_for, bo, lived):
    data = read(client_for(bo))
    rows = table(data)
    assert list(rows[0]) == list(COLUMNS)
    assert [row["kind"] for row in rows] == [
        "fill",
        "fill",
        "fill-reversal",
        "collection",
        "fill",
        *["total"] * 3,
        "record",
    ]
    gone = rows[3]
    assert (gone["out_ml"], gone["carrier"], gone["treatment"], gone["document"]) == (
        "250.0", "Weir & Low Carriers (CB-1)", "R4 silver", "N-17",
    )  # fmt: skip
    totals = {row["stream"]: (row["into_ml"], row["out_ml"], row["origin"]) for row in rows if row["kind"] == "total"}
    assert totals["fixer"] == ("250.0", "250.0", "opening 0.0 mL, closing 0.0 mL")
    assert totals["stop-bath"] == ("75.5", "0.0", "opening 0.0 mL, closing 75.5 mL")


def test_the_csv_is_as_rfc_4180_has_it_and_starts_no_formula(client_for, bo, lived):
    """RFC 4180, 2.1 CRLF and 2.6, 2.7 quotes (from memory); a cell of = is disarmed (ASVS 5.0, 1.2.10, read copy)."""
    data = read(client_for(bo))
    assert data.endswith(b"\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert b'""quote""' in data
    rows = table(data)
    assert rows[0]["origin"].startswith("'=HYPERLINK")
    assert rows[2]["into_ml"] == "-100.0"
    for row in rows:
        for name, cell in row.items():
            assert name in NUMBERS or not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
            assert name not in NUMBERS or re.fullmatch(r"(-?\d+(\.\d+)?)?", cell)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "\0"])
def test_every_dangerous_start_is_disarmed(start):
    assert safe(f"{start}1") == f"'{start}1"
    assert safe(f"1{start}") == f"1{start}"


@pytest.mark.parametrize(("count", "text"), [(0, "0.0"), (-5, "-0.5"), (12345, "1234.5"), (-1000, "-100.0")])
def test_volumes_are_written_exactly(count, text):
    assert ml(count) == text


@pytest.mark.parametrize("form", ["csv", "json", "xlsx", "pdf"])
def test_the_same_instant_gives_the_same_bytes_whatever_is_written_later(client_for, bo, lived, form):
    speaker, at = client_for(bo), clock.now().isoformat().replace("+00:00", "Z")
    first = read(speaker, form, f"&as_of={at}")
    poured(bo, can(bo), "11")
    speaker.patch(f"streams/{lived.stream.public_id}", {"name": "Renamed since", "list_code": "09 01 99"})
    assert read(speaker, form, f"&as_of={at}") == first
    assert form == "pdf" or read(speaker, form) != first


def test_the_json_has_the_head_of_the_record_and_leaves_the_later_out(client_for, bo, lived):
    head = Head.objects.get(darkroom=bo.darkroom)
    found = json.loads(read(client_for(bo), "json"))
    assert found["record"] == {"entry": head.seq, "sha256": head.hash}
    assert found["total"]["closing_ml"] == "75.5"
    before = Entry.objects.filter(darkroom=bo.darkroom, act="pickup:confirm").get()
    at = (before.recorded_at - timedelta(microseconds=1)).isoformat().replace("+00:00", "Z")
    earlier = json.loads(read(client_for(bo), "json", f"&as_of={at}"))
    assert earlier["record"]["entry"] == before.seq - 1
    assert [item["kind"] for item in earlier["items"]] == ["fill", "fill", "fill-reversal"]


def test_the_workbook_has_numbers_as_numbers_and_a_formula_as_text(client_for, bo, lived):
    sheet = load_workbook(io.BytesIO(read(client_for(bo), "xlsx"))).active
    rows = [dict(zip(COLUMNS, row, strict=True)) for row in sheet.iter_rows(min_row=2)]
    assert (rows[0]["into_ml"].value, rows[0]["into_ml"].data_type) == (250, "n")
    assert rows[0]["origin"].value.startswith("=HYPERLINK")
    assert rows[0]["origin"].data_type in {"s", "inlineStr"}
    assert sheet.max_row == 10


def test_the_paper_has_the_lines_the_totals_and_the_head(client_for, bo, lived):
    paper = PdfReader(io.BytesIO(read(client_for(bo), "pdf")))
    text = "\n".join(page.extract_text() for page in paper.pages)
    assert Head.objects.get(darkroom=bo.darkroom).hash in text
    for word in ("collection", "250.0", "Totals in mL", "closing_ml", "Page 1 of"):
        assert word in text


def test_the_days_of_a_period_count_in_the_darkrooms_own_zone(client_for, bo):
    """23:30 UTC on 30 June is 1 July in Berlin (CEST, UTC+2; common knowledge)."""
    with clock.fixed(clock.datetime(2026, 6, 30, 23, 30, tzinfo=clock.UTC)):
        poured(bo, can(bo), "10")
    june = json.loads(read(client_for(bo), "json", "&from=2026-06-01&to=2026-06-30"))
    july = json.loads(read(client_for(bo), "json", "&from=2026-07-01&to=2026-07-31"))
    august = json.loads(read(client_for(bo), "json", "&from=2026-08-01"))
    assert (june["items"], len(july["items"])) == ([], 1)
    assert (august["total"]["opening_ml"], august["total"]["closing_ml"]) == ("10.0", "10.0")


def test_people_are_pseudonyms_until_an_admin_says_why(client_for, bo, di, lived):
    rows = table(read(client_for(bo)))
    assert {row["by"] for row in rows if row["by"]} == {row["by"] for row in table(read(client_for(di))) if row["by"]}
    assert all(re.fullmatch(r"p-[0-9a-f]{8}", row["by"]) for row in rows if row["by"])
    refused = client_for(di).get("waste-log?people=names")
    assert (refused.status_code, refused.json()["code"]) == (403, "waste_log.names_undisclosed")
    assert client_for(bo).post("waste-log/disclosures", {"reason": "x"}).status_code == 403
    assert client_for(di).post("waste-log/disclosures", {"reason": "The inspector asked who"}).status_code == 201
    assert "Bo Brandt" in {row["by"] for row in table(read(client_for(di), "csv", "&people=names"))}
    assert client_for(bo).get("waste-log?people=names").status_code == 403
    assert Disclosure.objects.get().reason == "The inspector asked who"
    with clock.fixed(clock.now() + timedelta(hours=2)):
        assert client_for(di).get("waste-log?people=names").status_code == 403


@pytest.mark.parametrize(
    "query", ["from=2026-02-30", "format=xls", "as_of=2199-01-01T00:00:00Z", "from=2026-02-01&to=2026-01-01", "x=1"]
)
def test_a_query_that_means_nothing_is_refused(client_for, bo, query):
    assert client_for(bo).get(f"waste-log?{query}").status_code == 400


def test_the_log_of_one_darkroom_has_nothing_of_another(client_for, bo, outsider, lived):
    assert json.loads(read(client_for(outsider), "json"))["items"] == []
    assert make.refreshed(lived).contents == 0


def test_a_longer_log_asks_no_more_questions(client_for, bo, eli, django_assert_num_queries):
    speaker = client_for(bo)
    for _ in range(3):
        confirmed(eli, ready(bo, can(bo)))
    read(speaker)
    with django_assert_num_queries(8):  # token, membership, transaction, head, and one for each of three ledgers
        read(speaker)
