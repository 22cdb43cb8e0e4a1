"""The life of a sign-off: a new version of its topic ends it after a grace, and who means to mix hears it first."""

from datetime import UTC, date, datetime, timedelta

import pytest

from accounts.commands import proof
from accounts.models import Notice, SignOff, Topic
from accounts.models.signoff import topics_held
from darkroom_service import clock
from tests import make
from tests.chemistry import brew

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
# Thirty days on, to the end of Christmas day in Berlin: 00:00 on the 26th, in winter time.
ENDS = datetime(2026, 12, 25, 23, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _noon():
    with clock.fixed(NOW):
        yield


def changed(client_for, cy, **body):
    row = Topic.objects.get(darkroom=cy.darkroom, code="powder-handling")
    answer = client_for(cy).patch(f"topics/{row.public_id}", {"text": "Now with the new fan.", **body})
    assert answer.status_code == 200, answer.content
    return row


def holds(who, at):
    return topics_held(who, ["powder-handling"], at) == {"powder-handling"}


def test_earlier_sign_offs_count_until_the_last_local_day_of_the_grace(client_for, cy, bo):
    make.signed_off(cy, bo, "powder-handling")
    changed(client_for, cy)
    assert holds(bo, ENDS - timedelta(seconds=1))
    assert not holds(bo, ENDS)
    told = Notice.objects.get(kind="topic-changed", to=bo)
    assert "counts until 2026-12-25 at the latest" in told.text


def test_a_wording_alone_may_leave_them_to_their_own_date(client_for, cy, bo):
    make.signed_off(cy, bo, "powder-handling")
    changed(client_for, cy, grace_days=None)
    assert holds(bo, ENDS + timedelta(days=90))
    assert "until its own date" in Notice.objects.get(kind="topic-changed", to=bo).text


def test_a_sign_off_for_the_new_version_outlives_the_grace(client_for, cy, bo):
    make.signed_off(cy, bo, "powder-handling")
    changed(client_for, cy)
    make.signed_off(cy, bo, "powder-handling")
    assert holds(bo, ENDS + timedelta(days=90))


def test_what_is_outdated_reads_so(client_for, cy, bo):
    (row,) = make.signed_off(cy, bo, "powder-handling")
    changed(client_for, cy, grace_days=0)
    client = client_for(bo)
    seen = client.get(f"sign-offs/{row.public_id}").json()
    assert (seen["standing"], seen["stale_from"]) == (True, "2026-11-25T23:00:00Z")
    with clock.fixed(NOW + timedelta(days=1)):
        assert client.get(f"sign-offs/{row.public_id}").json()["standing"] is False
        assert client.get("sign-offs?standing=true&topic=powder-handling").json()["items"] == []
        assert client_for(cy).get("sign-offs?standing=false").json()["items"]


def test_once_outdated_an_instructor_signs_nobody_off_until_signed_anew(client_for, di, cy, bo):
    changed(client_for, cy, grace_days=0)
    with clock.fixed(NOW + timedelta(days=1)):
        body = {"members": [str(bo.public_id)], "topics": ["powder-handling"]}
        assert client_for(cy).post("sign-offs", body).json()["code"] == "topic.without_holder"
        make.first_holder(di, cy, "powder-handling")
        assert client_for(cy).post("sign-offs", body).status_code == 201
    assert list(proof.differences()) == []


def test_verify_names_a_sign_off_whose_signer_was_outdated(client_for, cy, bo, ada):
    changed(client_for, cy, grace_days=0)
    with clock.fixed(NOW + timedelta(days=1)):
        current, held = Topic.objects.get(code="powder-handling"), SignOff.objects.get(trainee=cy, topic__code="ppe")
        forged = SignOff.objects.create(
            topic=current, topic_version=current.versions.get(number=2), trainee=bo, signer=cy, valid_from=clock.now(),
            expires_at=ENDS, entry_id=make.signed_off(cy, ada, "ppe")[0].entry_id,
        )  # fmt: skip
    assert held.topic.code == "ppe"
    assert list(proof.differences()) == [f"sign-off {forged.public_id}: its signer did not hold the topic then"]


def request(client_for, who, packed, **more):
    formula = str(packed.formula_version.formula.public_id)
    answer = client_for(who).post("batches", {"formula": formula, "packs": [str(packed.public_id)], **more})
    return answer, Notice.objects.filter(kind="sign-off-lapses")


@pytest.mark.parametrize(("mix_on", "lapses"), [("2026-12-31", False), ("2027-01-01", True)])
def test_a_request_for_a_day_beyond_ones_sign_off_says_so(client_for, room, cy, bo, mix_on, lapses):
    make.signed_off(cy, bo, "powder-handling", expires_on=date(2026, 12, 31))
    make.signed_off(cy, bo, "ppe", "room-induction")
    answer, told = request(client_for, bo, brew.pack(room), mix_on=mix_on)
    assert answer.status_code == 201
    batch = client_for(bo).get(f"batches/{answer.json()['id']}").json()
    assert ("mixer.will_lapse" in [flag["code"] for flag in batch["flags"]]) is lapses
    assert [row.to_id for row in told] == ([bo.pk] if lapses else [])
    assert not lapses or "powder-handling" in told[0].text


def test_where_no_day_is_named_a_week_is_looked_ahead(client_for, room, cy, bo):
    make.signed_off(cy, bo, "ppe", "room-induction")
    make.signed_off(cy, bo, "powder-handling", expires_on=date(2026, 12, 1))
    assert [row.to_id for row in request(client_for, bo, brew.pack(room))[1]] == [bo.pk]


def test_who_asks_for_others_to_mix_is_not_told_of_what_they_never_held(client_for, room, cy, bo):
    assert not request(client_for, bo, brew.pack(room))[1].exists()


def test_a_day_that_is_over_is_refused(client_for, room, cy, bo):
    answer, _ = request(client_for, bo, brew.pack(room), mix_on="2026-11-24")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/mix_on")
