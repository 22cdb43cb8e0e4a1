"""Streams over time: what was poured keeps the codes of its day; a change is a new version, never a changed one."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import DatabaseError, transaction

from darkroom_service import clock
from tests.waste.pail import can, do, kept_apart, poured
from waste.commands import stream
from waste.models import StreamVersion
from waste.science.stream import is_us_code, listing, sort_of, starters, us_title

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def edit(who, row, **given):
    since = given.pop("valid_from", None)
    return do(stream.edit, who, row, given, unchanged=lambda _: None, valid_from=since)


def test_a_pour_keeps_the_codes_of_its_day(bo):
    with clock.fixed(NOON):
        held = can(bo, "stop-bath")
        first = poured(bo, held)
    with clock.fixed(NOON + timedelta(days=2)):
        edit(bo, held.stream, list_code="16 10 01*", us_codes=["D002"])
        second, late = poured(bo, held), poured(bo, held, at=NOON + timedelta(days=1))
    kept = [row.listed for row in (first, second, late)]
    codes = [(row["list_code"], row["hazardous"], row["us_codes"]) for row in kept]
    assert codes == [("09 01 99", False, []), ("16 10 01*", True, ["D002"]), ("09 01 99", False, [])]
    assert first.listed["title"] == "wastes not otherwise specified"  # List of Waste, Decision 2000/532/EC, read


def test_a_change_back_in_time_corrects_what_is_read_from_then_on(bo):
    with clock.fixed(NOON):
        row = kept_apart(bo, "fixer")
    with clock.fixed(NOON + timedelta(days=3)):
        edit(bo, row, name="Spent fixer")
        now = edit(bo, row, note="Ask the recoverer.", valid_from=NOON + timedelta(days=1))
    assert (now.name, now.note.startswith("Film and paper")) == ("Spent fixer", True)
    then = StreamVersion.objects.as_of(row, NOON + timedelta(days=2))
    assert (then.name, then.note) == ("Fixer", "Ask the recoverer.")
    assert StreamVersion.objects.filter(stream=row).count() == 3


def test_no_version_is_changed_by_anybody(bo):
    row = kept_apart(bo, "fixer")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        StreamVersion.objects.filter(stream=row).update(name="Mine")


def test_versions_are_listed_and_a_time_to_come_is_refused(bo, client_for):
    speaks = client_for(bo)
    address = speaks.post("streams", {"code": "fixer"})["Location"]
    tomorrow = (clock.now() + timedelta(days=1)).isoformat(timespec="seconds")
    refused = speaks.patch(address, {"name": "X", "valid_from": tomorrow})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/valid_from")
    assert speaks.patch(address, {"us_codes": ["D011", "D002"]}).status_code == 200
    items = speaks.get(f"{address}/versions").json()["items"]
    assert [[each["code"] for each in row["us_codes"]] for row in items] == [["D011", "D002"], ["D011"]]
    assert [row["number"] for row in items] == [2, 1]


@pytest.mark.parametrize("code", ["D011*", "d011", "D044", "D000", "X001", "D11", "D0111"])
def test_a_malformed_us_code_is_refused_at_its_place(bo, client_for, code):
    refused = client_for(bo).post("streams", {"code": "fixer", "us_codes": ["D011", code]})
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"].startswith("/us_codes/1")


@pytest.mark.parametrize("code", ["D001", "D011", "D043", "F001", "K001", "P001", "U001"])
def test_a_us_code_is_a_letter_and_three_digits(code):
    # 40 CFR 261 subparts C and D, from memory
    assert is_us_code(code)


def test_the_starters_cover_what_a_darkroom_keeps_apart():
    wanted = {
        "bw-developer", "colour-developer", "stop-bath", "fixer", "ferricyanide-bleach", "dichromate-bleach",
        "bleach-fix", "selenium-toner", "sulfide-toner", "stabiliser", "rinse", "contaminated-solids",
        "empty-packaging", "discarded-powders",
    }  # fmt: skip
    assert wanted <= starters().keys()
    # D011 for silver, D010 for selenium, D007 for chromium: 40 CFR 261.24, limits read, numbers partly from memory
    assert [starters()[each].us_codes for each in ("fixer", "selenium-toner", "dichromate-bleach")] == [
        ("D011",), ("D010",), ("D002", "D007"),
    ]  # fmt: skip
    assert us_title("D011").startswith("toxic: silver, 5.0 mg/L")


# List of Waste, Decision 2000/532/EC as amended by 2014/955/EU: titles read in a public transcription.
@pytest.mark.parametrize(
    ("code", "title", "hazardous"),
    [
        ("15 01 10*", "packaging containing residues of or contaminated by hazardous substances", True),
        ("16 05 07*", "discarded inorganic chemicals consisting of or containing hazardous substances", True),
        ("16 05 08*", "discarded organic chemicals consisting of or containing hazardous substances", True),
        ("16 10 02", "aqueous liquid wastes other than those mentioned in 16 10 01", False),
        ("16 09 04*", "oxidising substances, not otherwise specified", True),
    ],
)
def test_an_entry_of_the_list_has_its_title_and_its_version(code, title, hazardous):
    found = listing(code)
    assert (found.title, found.hazardous, found.list_version) == (title, hazardous, "2015")
    assert listing(code, datetime(2014, 1, 1, tzinfo=UTC).date()).title == ""  # before the version kept here


def test_what_is_in_a_toner_tells_its_stream():
    # CAS numbers from memory: sodium sulfide, sodium selenite
    assert sort_of("toner", "bw", frozenset({"1313-82-2"})) == "sulfide-toner"
    assert sort_of("toner", "bw", frozenset({"10102-18-8", "7783-18-8"})) == "selenium-toner"
    assert sort_of("toner", "bw") is None
