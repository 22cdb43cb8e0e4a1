"""Batches: request, second persons, every edge of the state machine, release and withdrawal."""

from datetime import timedelta
from uuid import uuid4

import pytest

from accounts.acts import Role
from accounts.models import Entry, Notice
from chemistry.commands import batch, mixing, transfer, traysession
from chemistry.commands.tray import Emptying
from chemistry.models import Batch, BatchState, Pack
from chemistry.models.batch import MOVES
from darkroom_service import clock
from tests import make
from tests.chemistry import brew, trays

S = BatchState
SETTINGS = ("off", "noted", "required")


def wanted(packed, *more, **changes):
    """The body of a request for a batch."""
    formula = str(packed.formula_version.formula.public_id)
    return {"formula": formula, "packs": [str(each.public_id) for each in (packed, *more)], **changes}


def set_second_person(client_for, di, **settings):
    assert client_for(di).patch(f"/api/v1/darkrooms/{di.darkroom.slug}", settings).status_code == 200


def in_state(room, state):
    """A batch that stands in a state."""
    if state in {S.REQUESTED, S.REJECTED, S.CANCELLED}:
        made = brew.requested_batch(room)
    elif state in {S.APPROVED, S.MIXING}:
        made = brew.approved_batch(room)
    else:
        made = brew.mixed_batch(room, at=clock.now() - timedelta(hours=25 if state == S.MIXED else 1))
    teacher = brew.staff(room, Role.INSTRUCTOR)
    match state:
        case S.REJECTED:
            return brew.do(batch.reject, teacher, made, reason="too much stock")
        case S.CANCELLED:
            return brew.do(batch.cancel, teacher, made)
        case S.MIXING:
            return brew.do(mixing.start, teacher, made)
        case S.RELEASED:
            return brew.released_batch(room)
        case S.WITHDRAWN:
            return brew.do(batch.withdraw, teacher, made, reason="wrong packet")
    return made


# Asking


def test_a_request_reserves_its_packs_and_adds_up_what_they_make_and_cost(client_for, room, ada, bo):
    first, second = brew.pack(room, price=1200), brew.pack(room, price=1250)
    answer = client_for(ada).post("batches", wanted(first, second))
    assert (answer.status_code, answer.json()["state"], answer.json()["flags"]) == (201, "requested", [])
    read = client_for(bo).get(answer.headers["Location"]).json()
    assert (read["wanted"], read["cost"]["minor"]) == ({"value": "7600.0", "unit": "mL"}, 2450)
    assert (read["requested_by"], read["mixed_by"]) == (str(ada.public_id), None)
    assert set(read["packs"]) == {str(first.public_id), str(second.public_id)}
    assert read["may_become"] == ["approved", "cancelled", "rejected"]
    assert make.refreshed(first).state == "sealed"
    assert Notice.objects.filter(to=bo, kind="batch-to-approve").count() == 1


@pytest.mark.parametrize(
    ("who", "status"), [("ada", 201), ("bo", 201), ("cy", 201), ("max", 201), ("di", 403), ("outsider", 404)]
)
def test_members_and_staff_ask_for_batches(request, client_for, room, who, status):
    packed = brew.pack(room)
    client = client_for(request.getfixturevalue(who))
    answer = client.post(f"/api/v1/darkrooms/{room.slug}/batches", wanted(packed))
    # Admins hold the member role too, so that di may ask; nobody is admin alone here.
    assert answer.status_code == (201 if who == "di" else status)


@pytest.mark.parametrize("share", ["0.5", "0.25", "0.9999"])
def test_half_a_packet_is_refused_with_the_reason_and_what_would_do(client_for, room, bo, share):
    answer = client_for(bo).post("batches", wanted(brew.pack(room), share=share))
    assert (answer.status_code, answer.json()["code"]) == (422, "packet.split")
    assert "ingredients separate" in answer.json()["detail"]
    assert answer.json()["facts"]["offers"] == ["mix 1 whole packet"]
    assert not Batch.objects.exists()


def test_a_packet_of_one_substance_is_booked_whole_too(client_for, room, bo):
    answer = client_for(bo).post("batches", wanted(brew.pack(room, "washing-aid", "1000"), share="0.5"))
    assert (answer.status_code, answer.json()["code"]) == (422, "packet.split")
    assert "ingredients" not in answer.json()["detail"]


def test_the_whole_packet_may_be_said_out_loud(client_for, room, bo):
    assert client_for(bo).post("batches", wanted(brew.pack(room), share="1")).status_code == 201


def test_a_liquid_is_opened_rather_than_mixed(client_for, room, bo):
    answer = client_for(bo).post("batches", wanted(brew.pack(room, "rapid-fixer", "1000")))
    assert (answer.status_code, answer.json()["code"]) == (422, "formula.not_mixed")
    assert "open the bottle" in answer.json()["detail"]


def test_a_pack_meant_for_another_batch_or_opened_or_discarded_is_refused(client_for, room, bo):
    client = client_for(bo)
    reserved = brew.requested_batch(room).packs.get()
    opened = brew.mixed_batch(room).packs.get()
    thrown = brew.pack(room)
    client.post(f"packs/{thrown.public_id}/discarding", {"reason": "torn"})
    before = Batch.objects.count()
    for packed, code in ((reserved, "pack.spoken_for"), (opened, "pack.not_sealed"), (thrown, "pack.not_sealed")):
        answer = client.post("batches", wanted(brew.pack(room), packed))
        assert (answer.status_code, answer.json()["code"], answer.json()["facts"]["place"]) == (409, code, 1)
    assert Batch.objects.count() == before


def test_packs_of_another_formula_twice_or_unknown_are_refused(client_for, room, elsewhere, bo):
    client, packed = client_for(bo), brew.pack(room)
    other = client.post("batches", wanted(packed, brew.pack(room, "plain-fixer", "1000")))
    assert (other.status_code, other.json()["code"]) == (422, "pack.other_formula")
    twice = client.post("batches", wanted(packed, packed))
    assert (twice.status_code, twice.json()["errors"][0]["pointer"]) == (400, "/packs/1")
    foreign, absent = (
        client.post("batches", {**wanted(packed), "packs": [str(id)]})
        for id in (brew.pack(elsewhere).public_id, uuid4())
    )
    assert foreign.json()["errors"][0]["pointer"] == "/packs/0"
    assert foreign.content == absent.content
    assert client.post("batches", {**wanted(packed), "packs": []}).status_code == 400
    assert not Batch.objects.filter(darkroom=room).exists()


def test_a_pack_past_its_date_is_flagged_for_the_release_test_to_decide(client_for, room, bo):
    packed = brew.pack(room)
    Pack.objects.filter(pk=packed.pk).update(best_before=(clock.now() - timedelta(days=40)).date())
    answer = client_for(bo).post("batches", wanted(packed)).json()
    assert [each["code"] for each in answer["flags"]] == ["pack.past_date"]
    assert answer["flags"][0]["text"]


def test_a_request_sent_twice_under_one_key_is_one_batch(client_for, room, bo):
    packed, key = brew.pack(room), uuid4()
    client = client_for(bo)
    first, second = client.post("batches", wanted(packed), key), client.post("batches", wanted(packed), key)
    assert (first.content, first.headers["Location"]) == (second.content, second.headers["Location"])
    assert client.post("batches", wanted(brew.pack(room)), key).json()["code"] == "key.reused"
    assert Batch.objects.count() == 1


# The second person


@pytest.mark.parametrize("setting", SETTINGS)
def test_approving_an_own_request(client_for, room, bo, cy, di, setting):
    set_second_person(client_for, di, second_person_mixing=setting)
    asked = brew.requested_batch(room)
    answer = client_for(bo).post(f"batches/{asked.public_id}/approval")
    if setting == "required":
        assert (answer.status_code, answer.json()["code"]) == (403, "approver.requester")
        assert answer.json()["facts"]["roles"] == ["instructor", "technician"]
        assert make.refreshed(asked).state == S.REQUESTED
        answer = client_for(cy).post(f"batches/{asked.public_id}/approval")
    flags = [each["code"] for each in answer.json()["flags"]]
    assert (answer.json()["state"], flags) == ("approved", ["approver.requester"] if setting == "noted" else [])


@pytest.mark.parametrize("setting", SETTINGS)
def test_releasing_an_own_batch(client_for, room, bo, eli, di, setting):
    set_second_person(client_for, di, second_person_release=setting)
    mixed = in_state(room, S.MIXED)
    brew.release_test(mixed, bo)
    answer = client_for(bo).post(f"batches/{mixed.public_id}/release")
    if setting == "required":
        assert (answer.status_code, answer.json()["code"]) == (403, "releaser.mixer")
        assert make.refreshed(mixed).state == S.RESTING
        answer = client_for(eli).post(f"batches/{mixed.public_id}/release")
    flags = [each["code"] for each in answer.json()["flags"]]
    assert (answer.json()["state"], flags) == ("released", ["releaser.mixer"] if setting == "noted" else [])


@pytest.mark.parametrize(("who", "status"), [("ada", 403), ("bo", 200), ("cy", 200), ("di", 403), ("outsider", 404)])
@pytest.mark.parametrize(
    ("step", "state", "body"),
    [
        ("approval", S.REQUESTED, {"note": "needed for Monday"}),
        ("rejection", S.REQUESTED, {"reason": "enough left"}),
        ("withdrawal", S.MIXED, {"reason": "wrong packet"}),
    ],
)
def test_the_rights_of_each_step(request, client_for, room, who, status, step, state, body):
    client = client_for(request.getfixturevalue(who))
    row = in_state(room, state)
    answer = client.post(f"/api/v1/darkrooms/{room.slug}/batches/{row.public_id}/{step}", body)
    assert answer.status_code == (200 if (who, step) == ("di", "withdrawal") else status)
    assert (make.refreshed(row).version > row.version) is (answer.status_code == 200)


def test_a_member_cancels_an_own_request_only(client_for, room, ada, bo):
    own = Batch.objects.get(public_id=client_for(ada).post("batches", wanted(brew.pack(room))).json()["id"])
    theirs = brew.requested_batch(room)
    body = {"reason": "not needed"}
    assert client_for(ada).post(f"batches/{own.public_id}/cancellation", body).json()["state"] == "cancelled"
    refused = client_for(ada).post(f"batches/{theirs.public_id}/cancellation", body)
    assert (refused.status_code, refused.json()["code"]) == (403, "batch.not_own")
    assert client_for(bo).post(f"batches/{theirs.public_id}/cancellation", body).status_code == 200


@pytest.mark.parametrize(("step", "kind"), [("rejection", "batch-rejected"), ("approval", "batch-approved")])
def test_the_requester_is_told(client_for, room, bo, cy, step, kind):
    asked = brew.requested_batch(room)
    client_for(cy).post(f"batches/{asked.public_id}/{step}", {"reason": "too early"} if step == "rejection" else {})
    assert Notice.objects.filter(to=bo, kind=kind).count() == 1


@pytest.mark.parametrize("state", [S.REQUESTED, S.APPROVED])
@pytest.mark.parametrize("step", ["rejection", "cancellation"])
def test_what_will_not_be_mixed_gives_its_packs_back(client_for, room, cy, state, step):
    row = in_state(room, state)
    packed = row.packs.get()
    client_for(cy).post(f"batches/{row.public_id}/{step}", {"reason": "enough left"})
    packed = make.refreshed(packed)
    assert (packed.state, packed.batch) == ("sealed", None)
    assert client_for(cy).post("batches", wanted(packed)).status_code == 201


# The states

STEPS = {
    "approval": (S.APPROVED, {}),
    "rejection": (S.REJECTED, {"reason": "no"}),
    "cancellation": (S.CANCELLED, {"reason": "no"}),
    "mixing": (S.MIXING, {}),
    "mixing/finish": (S.RESTING, None),
    "release": (S.RELEASED, {}),
    "withdrawal": (S.WITHDRAWN, {"reason": "no"}),
}


@pytest.mark.parametrize("state", list(S))
def test_every_step_that_may_not_follow_is_refused_and_says_what_may(client_for, room, cy, state):
    row = in_state(room, state)
    client = client_for(cy)
    finish = {"vessel": str(brew.bottle(room, "3800").public_id), "made": {"value": "3800", "unit": "mL"}}
    allowed = sorted(MOVES.get(state, set()) - ({S.RELEASED} if state == S.RESTING else set()))
    refused = {step for step, (became, _) in STEPS.items() if became not in allowed}
    assert refused
    for step in refused:
        answer = client.post(f"batches/{row.public_id}/{step}", finish if STEPS[step][1] is None else STEPS[step][1])
        assert (answer.status_code, answer.json()["code"]) == (409, "batch.wrong_state"), step
        assert (answer.json()["facts"]["state"], answer.json()["facts"]["allowed"]) == (state, allowed)
        assert row.code in answer.json()["detail"]
    assert (make.refreshed(row).version, make.refreshed(row).steps.count()) == (row.version, row.steps.count())


def test_a_rest_that_is_over_reads_as_mixed_and_is_recorded_by_the_next_step(client_for, room, cy):
    row = in_state(room, S.RESTING)
    client = client_for(cy)
    assert client.get(f"batches/{row.public_id}").json()["state"] == "resting"
    assert [each["id"] for each in client.get("batches?state=resting").json()["items"]] == [str(row.public_id)]
    with clock.fixed(row.rest_until):
        assert client.get(f"batches/{row.public_id}").json()["state"] == "mixed"
        assert client.get("batches?state=resting").json()["items"] == []
        assert [each["id"] for each in client.get("batches?state=mixed").json()["items"]] == [str(row.public_id)]
        assert make.refreshed(row).state == S.RESTING
        brew.release_test(row, cy)
        client.post(f"batches/{row.public_id}/release")
    steps = client.get(f"batches/{row.public_id}").json()["steps"]
    assert [each["became"] for each in steps][-3:] == ["resting", "mixed", "released"]
    assert steps[-2]["occurred_at"] == row.rest_until.isoformat().replace("+00:00", "Z")


# Release


def test_a_batch_still_resting_says_until_when(client_for, room, cy):
    row = in_state(room, S.RESTING)
    with clock.fixed(row.rest_until - timedelta(seconds=1)):
        answer = client_for(cy).post(f"batches/{row.public_id}/release")
    assert answer.status_code == 409
    assert f"{row.rest_until:%d %b %Y %H:%M}" in answer.json()["detail"]


def test_a_batch_whose_formula_asks_for_a_strip_is_not_released_without_one(client_for, room, cy):
    row = in_state(room, S.MIXED)
    answer = client_for(cy).post(f"batches/{row.public_id}/release")
    assert (answer.status_code, answer.json()["code"]) == (409, "batch.untested")
    assert answer.json()["facts"]["check"] == "clip"


def test_a_failed_release_test_is_final(client_for, room, cy):
    row = in_state(room, S.MIXED)
    brew.release_test(row, cy, passed=False)
    brew.release_test(row, cy)
    answer = client_for(cy).post(f"batches/{row.public_id}/release")
    assert (answer.status_code, answer.json()["code"]) == (422, "batch.test_failed")
    assert client_for(cy).post(f"batches/{row.public_id}/withdrawal", {"reason": "failed"}).status_code == 200


def test_a_formula_without_a_release_test_is_released_after_its_rest(client_for, room, cy):
    row = brew.mixed_batch(room, "plain-fixer", "1000")
    assert client_for(cy).post(f"batches/{row.public_id}/release", {"note": "clear"}).json()["state"] == "released"


def test_release_makes_its_vessels_ready_with_a_date_that_counts_from_the_mixing(client_for, room, cy):
    row = in_state(room, S.MIXED)
    brew.release_test(row, cy)
    drum = brew.drum_of(row)
    assert drum.state == "waiting"
    client_for(cy).post(f"batches/{row.public_id}/release")
    drum, row = make.refreshed(drum), make.refreshed(row)
    assert (drum.state, row.released_by) == ("ready", cy)
    months = (drum.use_by.year - row.mixed_at.year) * 12 + drum.use_by.month - row.mixed_at.month
    assert months == 6  # full and tight, common practice, no source


# Withdrawal


def test_withdrawal_stops_every_vessel_of_the_batch_and_of_what_was_made_from_it(client_for, room, bo):
    vessel = brew.filled(room, "phenidone-ascorbate", "1000")
    target = brew.bottle(room, "1000")
    brew.dilute(vessel, target, "1+1", "1000")
    drum = brew.drum_of(vessel.batch)
    client = client_for(bo)
    answer = client.post(f"batches/{vessel.batch.public_id}/withdrawal", {"reason": "wrong packet"})
    assert answer.json()["state"] == "withdrawn"
    assert {make.refreshed(each).state for each in (vessel, target, drum)} == {"stopped"}
    assert make.refreshed(make.refreshed(target).batch).state == S.WITHDRAWN


def test_withdrawal_tells_everybody_who_used_the_batch_and_nobody_else(client_for, room, ada, eli, bo, cy):
    brew.signed(room, ada)
    vessel = brew.filled(room, ml="1000")
    brew.develop(ada, brew.line(room, developer=vessel))
    client_for(cy).post(f"batches/{vessel.batch.public_id}/withdrawal", {"reason": "the water was rusty"})
    told = Notice.objects.filter(kind="recall")
    assert [each.to for each in told] == [ada]
    assert told[0].safety
    assert "the water was rusty" in told[0].text


def test_withdrawal_follows_the_liquid_through_a_blend_into_what_was_diluted_from_it(client_for, room, bo):
    first, second = (brew.filled(room, "phenidone-ascorbate", "500", nominal="1000") for _ in range(2))
    gone = second.batch
    brew.do(transfer.decant, bo, source=second.public_id, target=first.public_id, volume=5000)
    diluted = brew.dilute(make.refreshed(first), brew.bottle(room, "1000"), "1+1", "1000")
    client_for(bo).post(f"batches/{gone.public_id}/withdrawal", {"reason": "wrong packet"})
    assert {make.refreshed(each).state for each in (first, diluted)} == {"stopped"}
    assert make.refreshed(first.batch).state == S.RELEASED  # its rest stands in another drum, and is as good as ever


def test_withdrawal_tells_who_printed_in_its_tray_but_not_who_used_the_tray_before(client_for, room, ada, eli, cy):
    tray, stock = trays.tray(room), trays.source(room)
    earlier = trays.opened(room, tray, trays.source(room))
    trays.tallied(earlier, eli)
    brew.do(traysession.close, cy, earlier, trays=[Emptying("developer")])
    trays.tallied(trays.opened(room, tray, stock), ada)
    client_for(cy).post(f"batches/{stock.batch.public_id}/withdrawal", {"reason": "wrong packet"})
    assert [each.to for each in Notice.objects.filter(kind="recall")] == [ada]


def test_an_entry_taken_back_is_no_use_of_the_batch(client_for, room, ada, bo, cy):
    vessel = brew.filled(room, ml="1000")
    used = brew.develop(ada, brew.line(room, developer=vessel))
    assert client_for(ada).post(f"check-ins/{used.public_id}/reversal", {"reason": "wrong bottle"}).status_code < 300
    client_for(cy).post(f"batches/{vessel.batch.public_id}/withdrawal", {"reason": "wrong packet"})
    assert not Notice.objects.filter(kind="recall").exists()


def test_a_withdrawal_told_late_keeps_both_times_and_cannot_be_before_the_mixing(client_for, room, bo):
    row = in_state(room, S.MIXED)
    client, address = client_for(bo), f"batches/{row.public_id}/withdrawal"
    early = (row.mixing_started_at - timedelta(minutes=1)).isoformat()
    refused = client.post(address, {"reason": "old", "occurred_at": early})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/occurred_at")
    aside, bottle = row.mixed_at + timedelta(hours=2), brew.bottle(room, "1000")
    brew.do(transfer.decant, bo, source=brew.drum_of(row).public_id, target=bottle.public_id, volume=10000)
    client.post(address, {"reason": "old", "occurred_at": aside.isoformat()})
    assert make.refreshed(bottle).state == "stopped"  # filled after it was put aside, and stopped all the same
    step = client.get(f"batches/{row.public_id}").json()["steps"][-1]
    assert step["occurred_at"] == aside.isoformat().replace("+00:00", "Z") < step["recorded_at"]


# Reading


def test_members_see_no_names_of_others_behind_a_batch(client_for, room, ada, bo):
    row = brew.mixed_batch(room)
    mine, staffs = (client_for(who).get(f"batches/{row.public_id}").json() for who in (ada, bo))
    assert {"mixed_by", "approved_by", "requested_by"} & mine.keys() == set()
    assert staffs["mixed_by"] == str(bo.public_id)
    assert all("by" not in step for step in mine["steps"])
    assert all("by" in step for step in staffs["steps"])


def test_another_darkrooms_batch_does_not_exist(client_for, room, elsewhere, bo):
    theirs = brew.requested_batch(elsewhere)
    client, entries = client_for(bo), Entry.objects.count()
    assert client.get(f"batches/{theirs.public_id}").content == client.get(f"batches/{uuid4()}").content
    for step, (_, body) in STEPS.items():
        assert client.post(f"batches/{theirs.public_id}/{step}", body or {}).status_code == 404
    assert (client.get("batches").json()["items"], Entry.objects.count()) == ([], entries)


def test_the_list_asks_a_constant_number_of_queries(client_for, room, bo, django_assert_max_num_queries):
    for _ in range(5):
        brew.requested_batch(room)
    brew.mixed_batch(room)
    client = client_for(bo)
    with django_assert_max_num_queries(6):  # token, membership, batches, packs, vessels, and one to spare
        assert len(client.get("batches").json()["items"]) == 6
