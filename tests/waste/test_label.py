"""Labels of waste containers: the words each country's rules require."""

from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader

from darkroom_service.drawing.scene import codes
from tests.waste import pail
from waste.science import containerlabel
from waste.science.stream import starters

BEGAN = date(2026, 11, 2)


def said(country: str, kind: str = "fixer", **given):
    starter = starters()[kind]
    given = {"list_code": starter.list_code, "us_codes": ("D011",), "began": BEGAN, **given}
    return containerlabel.words(country, kind=kind, **given)


def test_in_the_us_it_says_hazardous_waste_the_hazard_and_when_accumulation_began():
    """40 CFR 262.16(b)(6): those three; read in secondary texts."""
    words = said("US")
    assert words.banner == "HAZARDOUS WASTE"
    assert words.lines[:2] == (("Hazards: Toxic (D011)", True), ("Accumulation began: 2 Nov 2026", True))


@pytest.mark.parametrize(("code", "word"), [("D001", "Ignitable"), ("D002", "Corrosive"), ("D003", "Reactive")])
def test_a_characteristic_is_named_by_its_word(code, word):
    """40 CFR 261.21 to 261.23: D001 ignitability, D002 corrosivity, D003 reactivity; from memory."""
    assert said("US", us_codes=(code,)).lines[0][0] == f"Hazards: {word} ({code})"


@pytest.mark.parametrize("country", ["EU", "UK", "none"])
def test_elsewhere_it_says_the_code_of_the_list_and_its_title(country):
    """Decision 2000/532/EC: 09 01 04* fixer solutions; read in a transcription."""
    words = said(country)
    assert words.banner == "HAZARDOUS WASTE"
    assert words.lines[:3] == (
        ("Waste code 09 01 04*", True), ("fixer solutions", False), ("First filled: 2 Nov 2026", True),
    )  # fmt: skip


def test_what_nobody_has_assessed_never_reads_as_harmless():
    words = containerlabel.words("EU", kind="other", list_code="", us_codes=(), began=None)
    assert (words.banner, words.statements) == ("HAZARDOUS WASTE", (containerlabel.NOT_KNOWN,))
    assert "____" in words.lines[0][0]
    assert "____" in words.lines[1][0]


def test_a_known_kind_without_an_asterisk_is_waste():
    assert said("EU", "stop-bath").banner == "WASTE"


def test_every_profile_is_of_a_starter_stream_and_has_pictograms_there_are():
    assert set(containerlabel.PROFILES) <= set(starters())
    assert all(set(each.pictograms) <= set(codes()) for each in containerlabel.PROFILES.values())
    assert all(each.statements and each.signal in {"Warning", "Danger"} for each in containerlabel.PROFILES.values())


def test_a_container_s_label_is_drawn(client_for, bo):
    can = pail.can(bo, location="under the sink")
    pail.poured(bo, can)
    answer = client_for(bo).get(f"containers/{can.public_id}/label?size=100x150")
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    read = " ".join(PdfReader(BytesIO(answer.content)).pages[0].extract_text().split())
    assert all(part in read for part in (can.code, "Fixer", "under the sink", "Waste code", "First filled"))
    picture = client_for(bo).get(f"containers/{can.public_id}/label?format=svg")
    assert (picture.status_code, picture["Content-Type"]) == (200, "image/svg+xml")
