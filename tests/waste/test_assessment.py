"""Compatibility by HTTP: judged by kind, stream or container, with the reaction by its name and nothing written."""

from uuid import uuid4

import pytest

from accounts.acts import Role
from accounts.models import Entry
from tests import make
from tests.waste.pail import can, kept_apart, poured


@pytest.fixture
def voice(client_for, ada):
    return client_for(ada)


def told(client, liquid, held):
    answer = client.post("assessments/compatibility", {"liquid": liquid, "held": held})
    assert answer.status_code == 200, answer.json()
    return answer.json()


def test_hypochlorite_on_fixer_is_refused_with_the_reaction_named(voice):
    before = Entry.objects.count()
    found = told(voice, {"kind": "hypochlorite"}, {"kind": "fixer"})
    # ammonium with hypochlorite makes chloramines: general chemistry, from memory; no class in the group chart
    assert (found["verdict"], found["grade"]) == ("never", "never")
    assert "chloramines" in found["reaction"]
    assert found["status"] == "from memory"
    assert found["basis"] == "computed, not measured"
    assert "prevail" in found["prevails"]
    assert "incident" in found["caution"]
    assert Entry.objects.count() == before


def test_the_cells_of_the_chart_say_whether_they_were_read(voice):
    found = told(voice, {"kind": "bw-developer"}, {"kind": "hypochlorite"})
    # EPA-600/2-80-076, cells 31x104, 7x104 (read) and 104x105 (from memory)
    assert {(tuple(sorted(each["groups"])), each["status"]) for each in found["cells"]} == {
        ((31, 104), "read"),
        ((7, 104), "read"),
        ((104, 105), "from memory"),
    }
    assert found["codes"] == ["H", "F", "GT", "E"]
    assert found["meanings"] == ["heat", "fire", "toxic gas", "explosion"]


def test_streams_and_containers_stand_for_their_kind(voice, bo):
    fixer, stop = kept_apart(bo), kept_apart(bo, "stop-bath")
    held = can(bo)
    poured(bo, held)
    for side in ({"stream": str(fixer.public_id)}, {"container": str(held.public_id)}):
        found = told(voice, {"stream": str(stop.public_id)}, side)
        assert (found["liquid"], found["held"], found["verdict"]) == ("stop-bath", "fixer", "never")
        assert "sulfur dioxide" in found["reaction"]


@pytest.mark.parametrize(
    ("one", "other", "verdict"),
    [
        ("fixer", "fixer", "meet"),
        ("fixer", "bleach-fix", "meet"),
        ("bw-developer", "colour-developer", "caution"),
        ("bw-developer", "stop-bath", "never"),
        ("unidentified", "unidentified", "never"),
    ],
)
def test_the_three_verdicts(voice, one, other, verdict):
    assert told(voice, {"kind": one}, {"kind": other})["verdict"] == verdict
    assert told(voice, {"kind": other}, {"kind": one})["verdict"] == verdict


@pytest.mark.parametrize("side", ["stream", "container"])
def test_a_foreign_id_is_like_an_absent_one(voice, outsider, side):
    theirs = can(make.member(outsider, Role.TECHNICIAN))
    foreign = theirs.public_id if side == "container" else theirs.stream.public_id
    answers = [
        voice.post("assessments/compatibility", {"liquid": {"kind": "fixer"}, "held": {side: str(each)}})
        for each in (foreign, uuid4())
    ]
    assert [each.status_code for each in answers] == [400, 400]
    assert answers[0].json() == answers[1].json()
    assert answers[0].json()["errors"][0]["pointer"] == f"/held/{side}"


@pytest.mark.parametrize(
    ("held", "pointer"),
    [({}, "/held"), ({"kind": "fixer", "stream": str(uuid4())}, "/held"), ({"kind": "plutonium"}, "/held/kind")],
)
def test_bad_input_is_refused_with_its_place(voice, held, pointer):
    answer = voice.post("assessments/compatibility", {"liquid": {"kind": "fixer"}, "held": held})
    assert answer.status_code == 400
    assert pointer in [each["pointer"] for each in answer.json()["errors"]]
