"""Streams: the kinds of waste a darkroom keeps apart."""

from uuid import uuid4

import pytest

from accounts.models import Entry
from tests.waste.pail import can, kept_apart
from waste.models import Stream

OWN = {"code": "paper-fixer", "name": "Paper fixer", "kind": "fixer", "list_code": "09 01 04*", "note": "Blue can."}


@pytest.fixture
def bo_speaks(bo, client_for):
    return client_for(bo)


def test_a_starter_stream_needs_only_its_code(bo_speaks):
    made = bo_speaks.post("streams", {"code": "bw-developer"})
    assert made.status_code == 201
    found = bo_speaks.get(made["Location"]).json()
    note = found.pop("note")
    # title: List of Waste, Decision 2000/532/EC as amended by 2014/955/EU, read in a public transcription
    assert found == {
        "id": made.json()["id"],
        "code": "bw-developer",
        "kind": "bw-developer",
        "name": "Black-and-white developer",
        "list_code": "09 01 01*",
        "title": "water-based developer and activator solutions",
        "hazardous": True,
        "list_version": "2015",
        "us_codes": [],
    }
    assert "sulfur dioxide" in note


def test_a_stream_of_ones_own_says_what_it_is_a_case_of(bo_speaks):
    made = bo_speaks.post("streams", OWN)
    found = bo_speaks.get(made["Location"]).json()
    assert {name: found[name] for name in OWN} == OWN
    assert (found["title"], found["hazardous"]) == ("fixer solutions", True)


def test_a_stream_of_ones_own_is_like_none_of_the_starters_unless_it_says_so(bo_speaks):
    made = bo_speaks.post("streams", {"code": "etching-acid", "name": "Etching acid"})
    found = bo_speaks.get(made["Location"]).json()
    assert (found["kind"], found["list_code"], found["hazardous"], found["title"]) == ("other", "", False, "")


def test_a_starter_takes_ones_own_words(bo_speaks):
    made = bo_speaks.post("streams", {"code": "fixer", "name": "Hypo", "note": "", "list_code": "20 01 17*"})
    found = bo_speaks.get(made["Location"]).json()
    assert (found["name"], found["note"], found["title"]) == ("Hypo", "", "photochemicals")


def test_an_unknown_code_without_a_name_is_told_the_starters(bo_speaks):
    refused = bo_speaks.post("streams", {"code": "lemonade"})
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"] == "/name"
    assert "bw-developer" in refused.json()["facts"]["starters"]
    assert Stream.objects.count() == 0


@pytest.mark.parametrize("code", ["090104*", "09 01 4", "fixer", "09 01 04**", "٠٩ ٠١ ٠٤"])
def test_a_malformed_list_code_is_refused_at_its_place(bo_speaks, code):
    refused = bo_speaks.post("streams", {**OWN, "list_code": code})
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"] == "/list_code"
    stream = bo_speaks.post("streams", OWN)
    assert bo_speaks.patch(stream["Location"], {"list_code": code}).status_code == 400


def test_an_unknown_kind_is_refused_with_the_kinds_there_are(bo_speaks):
    refused = bo_speaks.post("streams", {**OWN, "kind": "lemonade"})
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"] == "/kind"
    assert "other" in refused.json()["facts"]["kinds"]


def test_a_code_is_used_once_in_a_darkroom_and_again_in_another(bo_speaks, outsider, client_for):
    made = bo_speaks.post("streams", OWN)
    again = bo_speaks.post("streams", {**OWN, "name": "Another"})
    assert (again.status_code, again.json()["facts"]["id"]) == (409, made.json()["id"])
    assert client_for(outsider).post("streams", OWN).status_code == 201


def test_the_same_key_makes_one_stream_and_tells_the_same_answer(bo_speaks):
    key = uuid4()
    first, second = (bo_speaks.post("streams", OWN, key=key) for _ in range(2))
    assert (first.content, first["Location"]) == (second.content, second["Location"])
    assert second["Idempotency-Replayed"] == "true"
    assert Stream.objects.count() == 1
    assert bo_speaks.post("streams", {**OWN, "code": "x"}, key=key).status_code == 422


def test_an_edit_on_what_was_read_counts_and_one_on_what_was_not_is_refused(bo_speaks):
    address = bo_speaks.post("streams", OWN)["Location"]
    read = bo_speaks.get(address)
    edited = bo_speaks.patch(address, {"name": "Print fixer"}, etag=read["ETag"])
    assert (edited.status_code, edited.json()["name"], edited.json()["note"]) == (200, "Print fixer", "Blue can.")
    assert edited["ETag"] != read["ETag"]
    assert bo_speaks.patch(address, {"name": "Late"}, etag=read["ETag"]).status_code == 412
    assert bo_speaks.get(address).json()["name"] == "Print fixer"


def test_an_edit_without_an_etag_is_refused(bo_speaks):
    address = bo_speaks.post("streams", OWN)["Location"]
    assert bo_speaks.generic("PATCH", address, "{}", content_type="application/json").status_code == 428


@pytest.mark.parametrize("field", ["code", "kind", "version"])
def test_what_a_stream_is_never_changes(bo_speaks, field):
    address = bo_speaks.post("streams", OWN)["Location"]
    refused = bo_speaks.patch(address, {field: "fixer"})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, f"/{field}")


@pytest.mark.parametrize(("who", "status"), [("ada", 403), ("bo", 201), ("cy", 201), ("di", 201), ("outsider", 404)])
def test_technicians_instructors_and_admins_add_streams(who, status, room, client_for, request):
    speaker = client_for(request.getfixturevalue(who))
    before = Entry.objects.count()
    assert speaker.post(f"/api/v1/darkrooms/{room.slug}/streams", OWN).status_code == status
    assert Entry.objects.count() - before == (status == 201)


def test_every_member_reads_streams(ada, bo, client_for):
    stream = kept_apart(bo)
    speaker = client_for(ada)
    assert [row["code"] for row in speaker.get("streams").json()["items"]] == ["fixer"]
    assert speaker.get(f"streams/{stream.public_id}").status_code == 200
    assert speaker.patch(f"streams/{stream.public_id}", {"name": "Mine"}).status_code == 403


def test_a_stream_elsewhere_and_one_that_never_was_answer_alike(bo, outsider, client_for):
    theirs = can(bo).stream
    speaker = client_for(outsider)
    answers = [speaker.get(f"streams/{each}") for each in (theirs.public_id, uuid4())]
    answers += [speaker.patch(f"streams/{each}", {"name": "Mine"}) for each in (theirs.public_id, uuid4())]
    assert {(each.status_code, each.content) for each in answers} == {(404, answers[0].content)}


def test_a_list_is_paged_and_its_queries_do_not_grow(bo, bo_speaks, django_assert_num_queries):
    for code in ("fixer", "stop-bath", "bw-developer"):
        kept_apart(bo, code)
    with django_assert_num_queries(3):  # token, membership, page
        first = bo_speaks.get("streams?limit=2").json()
    with django_assert_num_queries(3):
        rest = bo_speaks.get(first["next"]).json()
    assert [row["code"] for row in first["items"] + rest["items"]] == ["bw-developer", "stop-bath", "fixer"]
    assert rest["next"] is None
