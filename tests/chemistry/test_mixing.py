"""Mixing: who may, what a finish writes, what is found already mixed, and the sheet to mix by."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db.models import Sum

from accounts.acts import Act
from accounts.commands import signoff
from accounts.commands.entry import command
from accounts.models import Entry, Membership, Notice
from chemistry.commands import batch
from chemistry.models import Batch, BatchState, Movement, Pack, Place
from chemistry.models.batch import Origin
from darkroom_service import clock
from darkroom_service.localday import day_of, end_of
from darkroom_service.refusal import Clash, Unworkable
from tests import make
from tests.chemistry import brew

MADE = {"value": "3800", "unit": "mL"}


@pytest.fixture
def approved(room, bo, cy):
    """A batch of the powder developer that may be mixed; nobody but the instructor is signed off."""
    return brew.approved_batch(room)


def start(client, row, **body):
    return client.post(f"batches/{row.public_id}/mixing", body)


def finish(client, row, vessel, **body):
    return client.post(
        f"batches/{row.public_id}/mixing/finish", {"vessel": str(vessel.public_id), "made": MADE, **body}
    )


def codes(answer):
    return [each["code"] for each in answer.json()["flags"]]


def unchanged(row):
    """A refused start left everything as it was."""
    found = make.refreshed(row)
    packs = Pack.objects.filter(batch=row).values_list("state", flat=True)
    return found.state == BatchState.APPROVED and found.mixed_by is None and set(packs) == {"sealed"}


# Who may


def test_an_unsigned_mixer_is_told_what_is_missing_and_who_can_sign(client_for, approved, bo, cy):
    make.signed_off(cy, bo, "room-induction")
    answer = start(client_for(bo), approved)
    assert (answer.status_code, answer.json()["code"]) == (403, "mixer.unsigned")
    assert answer.json()["facts"] == {"missing": ["ppe", "powder-handling"], "signers": [str(cy.public_id)]}
    assert cy.person.name in answer.json()["detail"]
    assert unchanged(approved)


def test_a_signed_off_member_mixes_and_opens_the_packs(client_for, approved, ada, cy):
    make.signed_off(cy, ada)
    answer = start(client_for(ada), approved, water={"value": "52.5", "unit": "degC"})
    assert (answer.status_code, answer.json()["state"]) == (200, "mixing")
    row = make.refreshed(approved)
    assert (row.mixed_by, row.packs.get().state) == (ada, "opened")
    assert row.steps.latest("id").note == "water at 52.5 °C"


def test_a_minor_never_handles_powder_even_signed_off(client_for, approved, ada, cy):
    make.signed_off(cy, ada)
    Membership.objects.filter(pk=ada.pk).update(minor_until=date(2100, 1, 1))  # their birthday was mistyped
    answer = start(client_for(ada), approved)
    assert (answer.status_code, answer.json()["code"]) == (403, "mixer.minor")
    assert unchanged(approved)


def test_admins_and_outsiders_do_not_mix(client_for, approved, di, outsider, cy):
    make.signed_off(cy, di)
    assert start(client_for(di), approved).status_code == 200  # as the member an admin also is
    client = client_for(outsider)
    client.room = f"/api/v1/darkrooms/{approved.darkroom.slug}/"
    assert start(client, approved).status_code == 404


def test_an_expired_sign_off_does_not_count(client_for, approved, bo, cy):
    make.signed_off(cy, bo)
    with clock.fixed(clock.now() + timedelta(days=800)):  # the longest starter topic counts two years
        answer = start(client_for(bo), approved)
    assert (answer.status_code, answer.json()["facts"]["missing"]) == (403, list(make.TOPICS))
    assert unchanged(approved)


def test_a_sign_off_that_ends_today_counts_to_the_end_of_the_local_day(client_for, approved, bo, cy):
    today = day_of(clock.now(), "Europe/Berlin")
    make.signed_off(cy, bo, expires_on=today)
    with clock.fixed(end_of(today, "Europe/Berlin")):
        assert start(client_for(bo), approved).status_code == 403
    with clock.fixed(end_of(today, "Europe/Berlin") - timedelta(seconds=1)):
        assert start(client_for(bo), approved).status_code == 200


def test_a_revoked_sign_off_does_not_count(client_for, approved, bo, cy):
    powder = make.signed_off(cy, bo)[-1]
    brew.do(signoff.revoke, cy, powder, reason="dust everywhere")
    answer = start(client_for(bo), approved)
    assert answer.json()["facts"]["missing"] == [powder.topic.code]


def test_a_late_report_is_judged_by_the_sign_offs_of_its_own_time(client_for, room, bo, eli, cy):
    then = clock.now() - timedelta(days=7)
    with clock.fixed(then):
        brew.signed(room, bo)
        row = brew.approved_batch(room)
        revoked = bo.sign_offs.get(topic__code="powder-handling")
    with clock.fixed(then + timedelta(days=3)):
        brew.do(signoff.revoke, cy, revoked, reason="no longer")
    make.signed_off(cy, eli)
    began = (then + timedelta(hours=1)).isoformat()
    late = start(client_for(eli), row, occurred_at=began)
    assert (late.status_code, late.json()["code"]) == (403, "mixer.unsigned")
    assert start(client_for(bo), row, occurred_at=began).status_code == 200
    step = row.steps.latest("id")
    assert step.occurred_at == then + timedelta(hours=1)
    assert step.entry.recorded_at > then + timedelta(days=6)


def test_a_start_before_the_approval_or_in_the_future_is_impossible(client_for, approved, cy):
    before = approved.steps.get(became="approved").occurred_at - timedelta(seconds=1)
    for at in (before, clock.now() + timedelta(minutes=5)):
        answer = start(client_for(cy), approved, occurred_at=at.isoformat())
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/occurred_at")
    assert unchanged(approved)


def test_a_technician_writes_down_that_somebody_else_mixed_whose_sign_offs_decide(client_for, approved, bo, ada, cy):
    refused = start(client_for(bo), approved, on_behalf_of=str(ada.public_id))
    assert refused.json()["code"] == "mixer.unsigned"
    make.signed_off(cy, ada)
    assert start(client_for(bo), approved, on_behalf_of=str(ada.public_id)).status_code == 200
    assert make.refreshed(approved).mixed_by == ada
    assert start(client_for(ada), approved, on_behalf_of=str(bo.public_id)).status_code == 403


def test_a_batch_whose_packs_were_all_discarded_is_not_started(client_for, approved, cy):
    packed = approved.packs.get()
    client_for(cy).post(f"packs/{packed.public_id}/discarding", {"reason": "torn"})
    answer = start(client_for(cy), approved)
    assert (answer.status_code, answer.json()["code"]) == (409, "batch.without_packs")


# The end


def test_a_finish_fills_its_vessel_starts_the_rest_and_balances(client_for, room, approved, cy):
    client, drum = client_for(cy), brew.bottle(room, "3800")
    start(client, approved)
    answer = finish(client, approved, drum)
    assert (answer.status_code, answer.json()["state"], codes(answer)) == (200, "resting", [])
    row, drum = make.refreshed(approved), make.refreshed(drum)
    assert (row.made, row.cost_minor) == (38000, 1200)
    assert row.rest_until - row.mixed_at == timedelta(hours=24)  # one day, common practice, no source
    assert (drum.batch, drum.contents, drum.basis, drum.state) == (row, 38000, 38000, "waiting")
    only = Movement.objects.get(target_batch=row)
    assert (only.source, only.target, only.volume) == (Place.MADE, Place.VESSEL, 38000)
    assert Notice.objects.filter(to=cy, kind="batch-to-release").count() == 1


def test_a_formula_without_a_rest_is_mixed_at_once(client_for, room, cy):
    row = brew.mixed_batch(room, "plain-fixer", "1000")
    assert client_for(cy).get(f"batches/{row.public_id}").json()["state"] == "mixed"


def test_a_finish_sent_twice_under_one_key_fills_once(client_for, room, approved, cy):
    client, drum, key = client_for(cy), brew.bottle(room, "3800"), uuid4()
    start(client, approved)
    address, body = f"batches/{approved.public_id}/mixing/finish", {"vessel": str(drum.public_id), "made": MADE}
    first, second = client.post(address, body, key), client.post(address, body, key)
    assert (first.status_code, second.content) == (200, first.content)
    assert client.post(address, {**body, "made": {"value": "4000", "unit": "mL"}}, key).status_code == 422
    assert Movement.objects.filter(target_batch=approved).aggregate(sum=Sum("volume"))["sum"] == 38000


@pytest.mark.parametrize(("made", "flagged"), [("3800", False), ("3760", False), ("3700", True), ("4000", True)])
def test_a_volume_off_the_mark_is_recorded_and_flagged(client_for, room, approved, bo, cy, made, flagged):
    client = client_for(cy)
    start(client, approved)
    answer = finish(client, approved, brew.bottle(room, "5000"), made={"value": made, "unit": "mL"})
    assert codes(answer) == (["batch.off_mark"] if flagged else [])
    assert make.refreshed(approved).made == int(made) * 10
    assert Notice.objects.filter(to=bo, kind="batch-flagged").exists() is flagged


@pytest.mark.parametrize(
    ("made", "code"),
    [
        ({"value": "0", "unit": "mL"}, "quantity.zero"),
        ({"value": "-1", "unit": "mL"}, "number.negative"),
        ({"value": "1e3", "unit": "mL"}, "number.malformed"),
        ({"value": "3.8", "unit": "gallon"}, "unit.unknown"),
        ({"value": "99999999", "unit": "L"}, "quantity.out_of_range"),
    ],
)
def test_absurd_volumes_are_refused_and_the_batch_is_still_being_mixed(client_for, room, approved, cy, made, code):
    client, drum = client_for(cy), brew.bottle(room, "3800")
    start(client, approved)
    answer = finish(client, approved, drum, made=made)
    assert (answer.status_code, answer.json()["errors"][0]["code"]) == (400, code)
    assert (make.refreshed(approved).state, make.refreshed(drum).contents) == ("mixing", 0)


def test_a_foreign_vessel_is_as_unknown_as_an_absent_one(client_for, room, elsewhere, approved, cy):
    client = client_for(cy)
    start(client, approved)
    foreign = client.post(
        f"batches/{approved.public_id}/mixing/finish",
        {"vessel": str(brew.bottle(elsewhere).public_id), "made": MADE},
    )
    absent = client.post(
        f"batches/{approved.public_id}/mixing/finish", {"vessel": str(uuid4()), "made": MADE}
    )  # fmt: skip
    assert (foreign.status_code, foreign.json()["errors"][0]["pointer"]) == (400, "/vessel")
    assert foreign.content == absent.content


def test_a_vessel_the_record_thinks_full_takes_the_batch_and_its_old_contents_are_unaccounted(
    client_for, room, approved, cy
):
    drum = brew.drum_of(brew.mixed_batch(room, "plain-fixer", "3800"))
    old, client = drum.batch, client_for(cy)
    start(client, approved)
    answer = finish(client, approved, drum)
    assert codes(answer) == ["vessel.not_empty"]
    drum = make.refreshed(drum)
    assert (drum.batch, drum.contents, drum.basis) == (approved, 38000, 38000)
    gone = Movement.objects.get(source_batch=old, target=Place.UNACCOUNTED)
    assert gone.volume == 38000


def test_a_finish_before_its_start_is_impossible(client_for, room, approved, cy):
    client = client_for(cy)
    start(client, approved)
    early = make.refreshed(approved).mixing_started_at - timedelta(seconds=1)
    answer = finish(client, approved, brew.bottle(room, "3800"), occurred_at=early.isoformat())
    assert (answer.status_code, answer.json()["code"]) == (400, "time.impossible")


def test_a_mixing_typed_in_a_week_later_rests_from_when_it_was_done(client_for, room, bo, cy):
    then = clock.now() - timedelta(days=7)
    with clock.fixed(then):
        brew.signed(room, bo)
        row = brew.approved_batch(room)
    client, drum = client_for(bo), brew.bottle(room, "3800")
    start(client, row, occurred_at=(then + timedelta(hours=1)).isoformat())
    answer = finish(client, row, drum, occurred_at=(then + timedelta(hours=2)).isoformat())
    assert answer.json()["state"] == "mixed"
    assert make.refreshed(row).rest_until == then + timedelta(hours=26)
    assert make.refreshed(drum).made_at == then + timedelta(hours=2)
    assert make.refreshed(drum).contents == 38000


def test_a_late_finish_into_a_vessel_filled_again_since_changes_no_level(client_for, room, bo, cy):
    then = clock.now() - timedelta(days=7)
    with clock.fixed(then):
        brew.signed(room, bo)
        row = brew.approved_batch(room)
    drum = brew.drum_of(brew.mixed_batch(room, "plain-fixer", "3800"))
    client = client_for(bo)
    start(client, row, occurred_at=(then + timedelta(hours=1)).isoformat())
    answer = finish(client, row, drum, occurred_at=(then + timedelta(hours=2)).isoformat())
    assert codes(answer) == ["vessel.refilled"]
    now = make.refreshed(drum)
    assert (now.contents, now.batch, now.basis) == (drum.contents, drum.batch, drum.basis)
    rows = Movement.objects.filter(entry=row.steps.latest("id").entry)
    assert sorted((each.source, each.target, each.volume) for each in rows) == [
        ("made", "vessel", 38000),
        ("vessel", "unaccounted", 38000),
    ]


def test_a_sign_off_revoked_mid_mix_flags_the_finish_and_leaves_the_release_to_an_instructor(
    client_for, room, approved, bo, eli, cy
):
    powder = make.signed_off(cy, eli)[-1]
    start(client_for(eli), approved)
    brew.do(signoff.revoke, cy, powder, reason="dust everywhere")
    answer = finish(client_for(eli), approved, brew.bottle(room, "3800"))
    assert (answer.status_code, codes(answer)) == (200, ["mixer.lapsed"])
    told = Notice.objects.filter(kind="batch-flagged")
    assert {each.to for each in told} >= {bo, cy}
    assert all(each.safety for each in told)
    with clock.fixed(make.refreshed(approved).rest_until):
        brew.release_test(approved, cy)
        refused = client_for(bo).post(f"batches/{approved.public_id}/release")
        assert (refused.status_code, refused.json()["code"]) == (403, "batch.doubtful")
        assert client_for(cy).post(f"batches/{approved.public_id}/release").status_code == 200


# Found


def found(client, room, **changes):
    formula = str(brew.published(room).formula.public_id)
    drum = str(brew.bottle(room, "3800").public_id)
    return client.post("batches/found", {"formula": formula, "vessel": drum, "made": MADE, **changes})


def test_a_batch_mixed_by_somebody_unsigned_is_recorded_as_found_and_waits(client_for, room, bo, ada, cy):
    packed = brew.pack(room)
    who = {"packs": [str(packed.public_id)], "mixed_by": str(ada.public_id), "note": "stood in the sink"}
    answer = found(client_for(bo), room, **who)
    assert answer.status_code == 201
    assert codes(answer) == ["batch.found", "mixer.unsigned"]
    row = Batch.objects.get(public_id=answer.json()["id"])
    assert (row.mixed_by, row.cost_minor, row.packs.get().state) == (ada, 1200, "opened")
    assert brew.drum_of(row).state == "waiting"
    assert not row.steps.filter(became="mixing").exists()  # no mixing on record for the unsigned person
    with clock.fixed(row.rest_until):
        brew.release_test(row, cy)
        assert client_for(bo).post(f"batches/{row.public_id}/release").json()["code"] == "batch.doubtful"
        assert client_for(cy).post(f"batches/{row.public_id}/release").status_code == 200


def test_packs_set_apart_for_a_batch_and_mixed_unasked_are_taken_from_it(client_for, room, bo, cy):
    asked = brew.approved_batch(room)
    packed = asked.packs.get()
    answer = found(client_for(cy), room, packs=[str(packed.public_id)])
    assert answer.status_code == 201
    asked, packed = make.refreshed(asked), make.refreshed(packed)
    assert (str(packed.batch.public_id), packed.state) == (answer.json()["id"], "opened")
    assert (asked.wanted, asked.cost_minor, asked.state) == (0, 0, "approved")
    assert Notice.objects.filter(to=bo, kind="pack-gone").exists()


def test_a_batch_found_of_nobody_knows_whom_and_of_a_minor(client_for, room, bo, max, cy):
    assert codes(found(client_for(bo), room)) == ["batch.found"]
    assert set(codes(found(client_for(bo), room, mixed_by=str(max.public_id)))) == {
        "batch.found", "mixer.unsigned", "mixer.minor",
    }  # fmt: skip


def test_whoever_reported_a_batch_of_nobody_knows_whom_is_not_its_second_person(client_for, room, di, cy):
    client_for(di).patch(f"/api/v1/darkrooms/{room.slug}", {"second_person_release": "required"})
    client = client_for(cy)
    answer = found(client, room, occurred_at=(clock.now() - timedelta(days=2)).isoformat())
    row = Batch.objects.get(public_id=answer.json()["id"])
    assert client.post(f"batches/{row.public_id}/release").json()["code"] == "releaser.mixer"


@pytest.mark.parametrize(("who", "status"), [("ada", 403), ("bo", 201), ("cy", 201), ("di", 403), ("outsider", 404)])
def test_a_technician_or_instructor_records_what_was_found(request, client_for, room, who, status):
    client = client_for(request.getfixturevalue(who))
    client.room = f"/api/v1/darkrooms/{room.slug}/"
    entries = Entry.objects.count
    assert found(client, room).status_code == status
    assert Batch.objects.count() == (1 if status == 201 else 0)
    assert entries() > 0


@pytest.mark.parametrize("name", ["formula", "vessel", "mixed_by", "packs"])
def test_ids_of_another_darkroom_in_what_was_found_are_unknown(client_for, room, elsewhere, outsider, bo, cy, name):
    theirs = {
        "formula": brew.published(elsewhere).formula.public_id,
        "vessel": brew.bottle(elsewhere).public_id,
        "mixed_by": outsider.public_id,
        "packs": brew.pack(elsewhere).public_id,
    }[name]
    answer = found(client_for(bo), room, **{name: [str(theirs)] if name == "packs" else str(theirs)})
    pointer = answer.json()["errors"][0]["pointer"]
    assert (answer.status_code, pointer) == (400, "/packs/0" if name == "packs" else f"/{name}")
    assert not Batch.objects.filter(darkroom=room).exists()


# The sheet


def test_the_sheet_of_a_packet(client_for, room, ada, cy):
    formula = brew.published(room).formula.public_id
    answer = client_for(ada).get(f"formulas/{formula}/mixing-sheet?makes=3800&hot=60&cold=12")
    sheet = answer.json()
    # Most of the water (three quarters) at the middle of 50-55 °C: 2850 (52.5 - 12) / (60 - 12) from the hot tap.
    # Common practice for the window; the split by heat balance.
    assert sheet["start"] == {"value": "2850.0", "unit": "mL"}
    assert sheet["water"]["parts"] == [
        {"water": "hot tap", "volume": {"value": "2404.7", "unit": "mL"}},
        {"water": "cold tap", "volume": {"value": "445.3", "unit": "mL"}},
    ]
    assert (sheet["window"]["low"]["value"], sheet["window"]["high"]["value"]) == ("50", "55")
    assert sheet["rest_hours"] == 24
    assert sheet["packet"].startswith("One packet, whole.")
    assert "39 mL (1.0 %) short" in sheet["to_the_mark"]  # 1 % at 50 °C, density of water
    assert sheet["required_topics"] == list(make.TOPICS)
    assert "closed" in sheet["closing"] or "close" in sheet["closing"]


def test_the_sheet_says_what_protects_and_that_premixed_may_be_asked_for(client_for, room, ada, cy):
    formula = brew.published(room).formula.public_id
    cautions = client_for(ada).get(f"formulas/{formula}/mixing-sheet?makes=3800&hot=60&cold=12").json()["cautions"]
    words = " ".join(f"{each['hazard']} {each['precaution']} {each['ask']}" for each in cautions)
    for line in (
        "eye protection and gloves",
        "Contains metol, hydroquinone: may cause an allergic reaction",
        "Ask for pre-mixed; no reason need be given.",
        "safety data sheet and the local rules prevail",
    ):
        assert line in words


def test_water_that_the_taps_cannot_give_is_not_possible_unless_a_kettle_is_there(client_for, room, ada, cy):
    address = f"formulas/{brew.published(room).formula.public_id}/mixing-sheet?makes=3800&hot=40&cold=12"
    without, with_kettle = (client_for(ada).get(address + more).json()["water"] for more in ("", "&kettle=true"))
    assert (without["feasible"], without["parts"]) == (False, [])
    assert "kettle" in without["offers"][0]
    assert (with_kettle["feasible"], with_kettle["parts"][0]["water"]) == (True, "kettle")


def test_the_sheet_of_a_batch_is_for_what_its_packs_make(client_for, room, ada, approved):
    sheet = client_for(ada).get(f"batches/{approved.public_id}/mixing-sheet?hot=60&cold=12").json()
    assert sheet["makes"] == {"value": "3800.0", "unit": "mL"}


def test_a_liquid_has_no_mixing_sheet(client_for, room, ada, cy):
    formula = brew.published(room, "rapid-fixer").formula.public_id
    answer = client_for(ada).get(f"formulas/{formula}/mixing-sheet?makes=1000&hot=60&cold=12")
    assert (answer.status_code, answer.json()["code"]) == (422, "formula.not_mixed")


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("hot=60&cold=12", "/makes"),
        ("makes=3800&cold=12", "/hot"),
        ("makes=3800&hot=hot&cold=12", "/hot"),
        ("makes=3800&hot=101&cold=12", "/hot"),
        ("makes=0&hot=60&cold=12", "/makes"),
        ("makes=3800&hot=60&cold=12&ice=perhaps", "/ice"),
        ("makes=3800&hot=60&cold=12&share=0.5", "/share"),
    ],
)
def test_a_sheet_for_nonsense_is_refused_at_its_place(client_for, room, ada, cy, query, pointer):
    formula = brew.published(room).formula.public_id
    answer = client_for(ada).get(f"formulas/{formula}/mixing-sheet?{query}")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)


# Batches that come to be in one act


@command(Act.TRANSFER_CREATE)
def opening(work, packed):
    return batch.opened_locked(work, packed)


@command(Act.TRANSFER_CREATE)
def blending(work, batches):
    return batch.blended_locked(work, batches)


def test_opening_a_concentrate_makes_a_released_batch_at_once(room, bo, cy):
    row = brew.do(opening, bo, brew.pack(room, "rapid-fixer", "1000", price=900))
    assert (row.origin, row.state, row.dilution, row.made, row.cost_minor) == (
        Origin.OPENED, "released", "stock", 10000, 900,
    )  # fmt: skip
    assert row.packs.get().state == "opened"
    assert [step.became for step in row.steps.all()] == ["released"]


def test_a_powder_is_not_opened_into_a_bottle_and_a_pack_is_opened_once(room, bo, cy):
    with pytest.raises(Unworkable, match="mixed, not opened"):
        brew.do(opening, bo, brew.pack(room))
    liquid = brew.pack(room, "rapid-fixer", "1000")
    brew.do(opening, bo, liquid)
    with pytest.raises(Clash, match="was opened"):
        brew.do(opening, bo, make.refreshed(liquid))


def test_diluting_passes_the_share_of_the_cost_on(room, bo, cy):
    source = brew.concentrate(room, "rapid-fixer", "1000")
    target = brew.dilute(source, brew.bottle(room, "1000"), "1+4", "1000")
    child = target.batch
    assert (child.origin, child.state, child.dilution, child.made) == (Origin.DILUTED, "released", "1+4", 10000)
    assert child.cost_minor == 180  # 200 mL of a litre at 9.00, by arithmetic
    assert (target.contents, make.refreshed(source).contents) == (10000, 8000)


def test_a_blend_is_as_old_as_its_oldest_part_and_no_better_than_its_worst(room, bo, cy):
    old = brew.released_batch(room, at=clock.now() - timedelta(days=30))
    new = brew.mixed_batch(room)
    both = brew.do(blending, bo, [old, new])
    assert (both.origin, both.state, both.mixed_at) == (Origin.BLENDED, "mixed", old.mixed_at)
    assert brew.do(blending, bo, [old, old]).state == "released"
    gone = brew.do(batch.withdraw, cy, new, reason="wrong packet")
    assert brew.do(blending, bo, [old, gone]).state == "withdrawn"
