"""Documents: a false type, a path in the name and too many bytes are refused; what is kept never runs anywhere."""

import hashlib
import io
from datetime import timedelta
from uuid import uuid4

import pytest

from darkroom_service import clock
from tests.waste.pail import can, do
from tests.waste.test_pickup import confirmed, ready
from waste.commands import document
from waste.models import Content, Document
from waste.science.document import HIGHEST_SIZE, media_type

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n%%EOF\n"
PNG = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + b"\0" * 17 + b"\x00\x00\x00\x00IEND\xaeB`\x82"
JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"\0" * 9 + b"\xff\xd9"
TEXT = b"batch;grams\r\nA;1\r\n"


@pytest.fixture
def row(bo):
    return ready(bo, can(bo))


def send(speaker, row, name, data, **more):
    headers = {"HTTP_IDEMPOTENCY_KEY": str(more.pop("key", uuid4()))}
    path = f"pickups/{row.public_id}/documents?name={name}"
    return speaker.generic("POST", path, data, content_type="application/octet-stream", **headers, **more)


@pytest.mark.parametrize(
    ("name", "data"), [("note.pdf", PDF), ("scan.png", PNG), ("scan.JPG", JPEG), ("weights.csv", TEXT), ("a.txt", TEXT)]
)
def test_what_is_kept_comes_back_as_a_file_that_nothing_runs(client_for, bo, row, name, data):
    made = send(client_for(bo), row, name, data)
    assert made.status_code == 201, made.content
    told = client_for(bo).get(f"documents/{made.json()['id']}").json()
    assert (told["name"], told["size"], told["sha256"]) == (name, len(data), hashlib.sha256(data).hexdigest())
    got = client_for(bo).get(f"documents/{made.json()['id']}/content")
    assert got.content == data
    assert got["Content-Disposition"] == f'attachment; filename="{name}"'
    assert got["X-Content-Type-Options"] == "nosniff"
    assert got["Content-Security-Policy"].startswith("sandbox")
    assert "no-store" in got["Cache-Control"]


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("note.pdf", b"<html><script>alert(1)</script>", "document.false_type"),
        ("note.pdf", b"MZ\x90\x00\x03", "document.false_type"),
        ("note.pdf", PNG, "document.false_type"),
        ("note.exe", PDF, "document.false_type"),
        ("note.txt", b" <svg onload='x'>", "document.false_type"),
        ("note.txt", b"#!/bin/sh\n", "document.false_type"),
        ("note.pdf", b"%PDF-1.7 cut off", "document.false_type"),
        ("..%2Fnote.pdf", PDF, "document.path_in_name"),
        ("%2Fetc%2Fnote.pdf", PDF, "document.path_in_name"),
        ("C%3A%5Cnote.pdf", PDF, "document.path_in_name"),
        (".note.pdf", PDF, "document.path_in_name"),
        ("note.pdf", b"", "document.empty"),
    ],
)
def test_what_is_not_what_it_says_is_refused_and_nothing_kept(client_for, bo, row, name, data, code):
    answer = send(client_for(bo), row, name, data)
    assert (answer.status_code, answer.json()["code"]) == (400, code)
    assert not Document.objects.exists()
    assert not Content.objects.exists()


class Unread(io.BytesIO):
    """A body that fails the test when any of it is read."""

    def read(self, *_):
        raise AssertionError("the body was read")


def test_a_hundred_megabytes_are_refused_by_their_length_before_any_is_read(client_for, bo, row):
    told = {"CONTENT_LENGTH": str(100 * 1024**2), "wsgi.input": Unread()}
    answer = send(client_for(bo), row, "note.pdf", b"x", **told)
    assert (answer.status_code, answer.json()["code"]) == (413, "document.too_large")


@pytest.mark.parametrize(("size", "status"), [(HIGHEST_SIZE, 201), (HIGHEST_SIZE + 1, 413)])
def test_ten_mebibytes_are_the_most(client_for, bo, row, size, status):
    assert send(client_for(bo), row, "a.txt", b"a" * size).status_code == status


def test_another_sort_of_body_is_not_taken(client_for, bo, row):
    assert client_for(bo).post(f"pickups/{row.public_id}/documents?name=a.txt", {}).status_code == 415


def test_a_retry_keeps_one_and_the_same_bytes_are_kept_once(client_for, bo, row):
    key, speaker = uuid4(), client_for(bo)
    first, again = (send(speaker, row, "note.pdf", PDF, key=key) for _ in range(2))
    assert first.json() == again.json()
    assert send(speaker, row, "note.pdf", TEXT, key=key).status_code == 422
    send(speaker, row, "copy.pdf", PDF)
    assert (Document.objects.count(), Content.objects.count()) == (2, 1)


def test_members_and_strangers_see_none(client_for, bo, ada, outsider, row):
    made = send(client_for(bo), row, "note.pdf", PDF).json()["id"]
    assert client_for(ada).get(f"documents/{made}/content").status_code == 403
    assert client_for(outsider).get(f"documents/{made}/content").status_code == 404


def test_a_document_is_removed_only_by_an_admin_and_only_past_its_retention(client_for, bo, eli, di):
    """36 months from the removal of the waste: Directive 2008/98/EC, Article 35(2), at least three years."""
    row = confirmed(eli, ready(bo, can(bo)))
    made = send(client_for(bo), row, "note.pdf", PDF).json()["id"]
    place, why = f"documents/{made}/removal", {"reason": "Kept long enough"}
    assert client_for(bo).post(place, why).status_code == 403
    early = client_for(di).post(place, why)
    assert (early.status_code, early.json()["code"]) == (409, "document.retained")
    kept = Document.objects.of(bo.darkroom).get()
    with clock.fixed(clock.now() + timedelta(days=3 * 366)):
        assert [str(each.public_id) for each in document.past_retention(bo.darkroom, clock.now().date())] == [made]
        assert [each["id"] for each in client_for(bo).get("documents/past-retention").json()] == [made]
        do(document.remove, di, kept, reason="Kept long enough")
    assert client_for(bo).get(f"documents/{made}/content").status_code == 404
    assert client_for(bo).get(f"documents/{made}").json()["sha256"] == kept.sha256
    assert not Content.objects.exists()


def test_kinds_are_told_by_content():
    assert [media_type(each) for each in (PDF, PNG, JPEG, TEXT, b"\0", b"\xff")] == [
        "application/pdf", "image/png", "image/jpeg", "text/plain", None, None,
    ]  # fmt: skip
