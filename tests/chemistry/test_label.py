"""Labels of vessels as people ask for them: what is said, in which form, and where the code leads."""

from dataclasses import replace
from io import BytesIO

import pytest
from django.utils.http import urlencode
from pypdf import PdfReader

from chemistry.api.label import label_of
from chemistry.models import Vessel
from chemistry.science.hazard.table import standard
from darkroom_service import clock
from darkroom_service.drawing.label import lay_out
from darkroom_service.drawing.sizes import SIZES
from tests.chemistry import brew

STOPPED = ("STOPPED: do not use", True)


def words(answer) -> str:
    assert answer.status_code == 200, answer.content
    assert answer["Content-Type"] == "application/pdf"
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages).split())


def ask(client, row, **query):
    return client.get(f"vessels/{row.public_id}/label?{urlencode(query)}")


def test_a_label_says_what_is_in_it_until_when_and_what_it_can_do(client_for, ada, room):
    held = brew.filled(room)
    said = words(ask(client_for(ada), held, size="100x62"))
    for part in (held.name, held.code, held.batch.code, "stock", "mixed", "Use by", "Calculated, not tested"):
        assert part in said
    assert "Contains metol, hydroquinone: may cause an allergic reaction." in said


@pytest.mark.parametrize("size", SIZES)
def test_what_is_not_known_stays_on_the_smallest_label_whatever_else_must_go(ada, room, size):
    """DESIGN's rule: missing data is "not known" and never reads as harmless."""
    held = brew.filled(room)
    row = Vessel.objects.filter(pk=held.pk).with_contents().get()
    label = label_of(row, ada, standard(), clock.now())
    full = replace(
        label, lines=(*label.lines, ("Own bottle of Ada Adler, to be taken away by 30 Sep 2026", True), STOPPED),
        pictograms=("GHS05", "GHS07", "GHS08", "GHS09"), signal="Danger",
        statements=(*label.statements, *("Suspected of causing genetic defects.",) * 9),
    )  # fmt: skip
    told = " ".join(lay_out(full, SIZES[size].width, SIZES[size].height).words())
    assert "treat it as hazardous" in told
    assert "may cause an allergic reaction" in told
    assert "prevail" in told


def test_the_picture_has_its_media_type_and_the_address_is_the_public_one(client_for, ada, room, settings):
    settings.ORIGIN = "https://darkroom.example.org"
    held = brew.filled(room)
    answer = ask(client_for(ada), held, format="svg", size="50x30")
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml")
    assert answer.content.startswith(b"<svg ")
    assert held.name in answer.content.decode()


def test_an_empty_bottle_has_lines_to_write_on(client_for, ada, room):
    said = words(ask(client_for(ada), brew.bottle(room, name="new & <empty>")))
    assert "Empty" in said
    assert "new & <empty>" in said


def test_an_own_bottle_names_its_owner(client_for, ada, room):
    assert "Own bottle of Ada Adler" in words(ask(client_for(ada), brew.bottle(room, owner=ada)))


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({"size": "1x1"}, "/size"),
        ({"format": "png"}, "/format"),
        ({"size": "a4-64x38", "start": 22}, "/start"),
        ({"copies": 51}, "/copies"),
        ({"size": "50x30", "format": "svg", "copies": 2}, "/format"),
        ({"colour": "red"}, "/colour"),
    ],
)
def test_what_cannot_be_printed_is_named(client_for, ada, room, query, pointer):
    answer = ask(client_for(ada), brew.bottle(room), **query)
    assert answer.status_code == 400
    assert pointer in answer.content.decode()


def test_copies_go_on_sheets_from_the_first_free_place(client_for, ada, room):
    answer = ask(client_for(ada), brew.bottle(room), size="a4-64x38", start=20, copies=3)
    assert len(PdfReader(BytesIO(answer.content)).pages) == 2


def test_a_batch_has_a_label_for_each_vessel_that_holds_some_in_a_steady_number_of_queries(
    client_for, ada, room, django_assert_max_num_queries
):
    held = brew.filled(room)
    client = client_for(ada)
    with django_assert_max_num_queries(12):
        answer = client.get(f"batches/{held.batch.public_id}/labels?size=62x100")
    count = Vessel.objects.filter(batch=held.batch, contents__gt=0).count()
    assert count == 2
    assert len(PdfReader(BytesIO(answer.content)).pages) == count
    assert held.code in words(answer)


def test_a_batch_in_no_vessel_has_no_labels(client_for, ada, room):
    wanted = brew.requested_batch(room)
    assert client_for(ada).get(f"batches/{wanted.public_id}/labels").status_code == 404


def test_another_darkroom_s_bottle_has_no_label_here(client_for, ada, elsewhere):
    assert ask(client_for(ada), brew.bottle(elsewhere)).status_code == 404


def test_a_code_leads_to_what_bears_it_and_a_slip_is_named(client_for, ada, outsider, room):
    row = brew.bottle(room)
    client = client_for(ada)
    scanned = client.get(f"/d/{room.slug}/{row.code}")
    assert (scanned.status_code, scanned["Location"]) == (302, f"/api/v1/darkrooms/{room.slug}/codes/{row.code}")
    found = client.get(f"codes/{row.code.lower()}").json()
    assert found["items"][0]["href"] == f"/api/v1/darkrooms/{room.slug}/vessels/{row.public_id}"
    assert client.get(found["items"][0]["href"]).status_code == 200
    slip = row.code[:-1] + ("0" if row.code[-1] != "0" else "1")
    assert (client.get(f"codes/{slip}").status_code, client.get("codes/abc").status_code) == (400, 400)
    assert client_for(outsider).get(f"codes/{row.code}").status_code == 404
