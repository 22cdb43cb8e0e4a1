"""Tray sessions: filled in one act, closed in one act, never refused for chemistry."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db.models import Sum

from accounts.models import Entry, Notice
from chemistry.commands import level, proof, stop, transfer, traysession
from chemistry.commands.tray import Emptying
from chemistry.models import Batch, Movement, Stop, TraySession, Vessel
from darkroom_service import clock
from tests import make
from tests.chemistry import bench, brew, trays
from tests.chemistry.bench import ml, quantity
from tests.waste import pail
from waste.models import Fill


@pytest.fixture
def staffed(room, bo, eli, cy, ada):
    """The room with its people, Ada and Bo inducted."""
    bench.inducted(room, ada, bo)
    return room


@pytest.fixture
def stock(staffed):
    """Two litres of paper developer stock."""
    return trays.source(staffed)


@pytest.fixture
def tray(staffed):
    return trays.tray(staffed)


@pytest.fixture
def says(ada, client_for):
    """Ada at her phone."""
    return client_for(ada)


def codes(answer):
    assert answer.status_code in {200, 201}, answer.json()
    return [flag["code"] for flag in answer.json()["flags"]]


def moved(entry):
    """Return what an entry moved: {(from, to): 0.1 mL}."""
    rows = Movement.objects.filter(entry=entry)
    sums = rows.values_list("source", "target").annotate(Sum("volume"))
    return {(source, target): volume for source, target, volume in sums}


def last_entry(room):
    return Entry.objects.filter(darkroom=room).latest("seq")


def told(member):
    return list(Notice.objects.filter(to=member, kind="report-flagged").values_list("text", flat=True))


# Opening


def test_one_act_fills_every_tray_and_makes_it_a_tray_of_paper(staffed, stock, tray, says):
    stop, fixer = trays.source(staffed, "stop"), trays.source(staffed, "fixer_1")
    others = trays.tray(staffed), trays.tray(staffed)
    filled = (
        trays.filling(tray, stock),
        trays.filling(others[0], stop, "2100", role="stop"),
        trays.filling(others[1], fixer, "2500", role="fixer_1"),
    )
    answer = says.post("tray-sessions", trays.body(*filled))
    assert codes(answer) == []
    # 2000 at 1+2, 2100 at 1+20, 2500 at 1+4: exact arithmetic, the stock to 0.1 mL.
    assert [make.refreshed(each).contents for each in (stock, stop, fixer)] == [ml("1333.3"), ml("900"), ml("500")]
    for each, volume in zip((tray, *others), ("2000", "2100", "2500"), strict=True):
        row = make.refreshed(each)
        assert (row.contents, row.use, row.film_or_paper, row.state) == (ml(volume), "tray", "paper", "ready")
    assert Entry.objects.filter(act="tray-session:open").count() == 1
    assert list(proof.differences(staffed.pk)) == []


def test_a_tray_says_what_it_holds_how_much_it_may_do_and_for_how_long(stock, tray, says):
    first, *_ = says.post("tray-sessions", trays.body(trays.filling(tray, stock))).json()["trays"]
    made = make.refreshed(tray).filled_at
    # Paper developer 1+2: 20 roll units per litre, 8 hours in the tray; common practice, no source.
    assert first == {
        "role": "developer", "vessel": {"id": str(tray.public_id), "code": tray.code}, "formula": "mq-carbonate",
        "dilution": "1+2", "contents": quantity("2000.0"), "load": "0.0000", "load_units": 0, "load_left": "40.0000",
        "until": (made + timedelta(hours=8)).isoformat().replace("+00:00", "Z"), "hours_left": "8.0",
    }  # fmt: skip


def test_a_working_solution_is_poured_as_it_is_with_or_without_its_strength_named(staffed, says):
    working = brew.working(staffed, "rapid-fixer", "1+4", "4000")
    pans = [trays.tray(staffed) for _ in range(2)]
    plain = trays.filling(pans[0], working, "1500", role="fixer_1")
    del plain["dilution"]
    named = trays.filling(pans[1], working, "1500", role="fixer_2", dilution="1+4")
    assert codes(says.post("tray-sessions", trays.body(plain, named))) == []
    assert {make.refreshed(each).batch_id for each in pans} == {working.batch_id}
    assert make.refreshed(working).contents == ml("1000")


def test_a_session_is_read_as_it_was_written(staffed, stock, tray, says, ada):
    through = trays.line(staffed, developer=stock)
    with clock.fixed(stock.filled_at + timedelta(hours=1)) as at:
        given = trays.body(trays.filling(tray, stock), line=str(through.public_id), occurred_at=at.isoformat())
        made = says.post("tray-sessions", given)
        found = says.get(made["Location"]).json()
    assert (found["id"], found["group"], found["line"]) == (made.json()["id"], "Evening course", str(through.public_id))
    assert (found["opened_by"], found["closed_at"]) == (str(ada.public_id), None)
    assert found["trays"] == made.json()["trays"]
    assert found["total"] == {
        "sheets": 0, "load": "0.0000", "load_units": 0, "area": {"value": "0.000", "unit": "cm2"},
        "cost": {"minor": 0, "currency": "EUR"},
    }  # fmt: skip
    assert (found["by_size"], found["by_member"], found["flags"]) == ([], [], [])


def test_a_tray_of_another_open_session_clashes_and_says_which(stock, tray, says):
    first = says.post("tray-sessions", trays.body(trays.filling(tray, stock, "1000"), group="Morning"))
    before = (TraySession.objects.count(), Movement.objects.count(), make.refreshed(tray).contents)
    second = says.post("tray-sessions", trays.body(trays.filling(tray, stock, "1000")))
    assert (second.status_code, second.json()["code"]) == (409, "tray-session.tray_taken")
    assert second.json()["facts"]["session"] == first.json()["id"]
    assert "Morning" in second.json()["detail"]
    assert (TraySession.objects.count(), Movement.objects.count(), make.refreshed(tray).contents) == before


def test_a_tray_that_the_record_has_something_in_is_filled_anew_and_flagged(staffed, stock, tray, says, bo):
    brew.do(transfer.decant, bo, source=stock.public_id, target=tray.public_id, volume=ml("300"))
    answer = says.post("tray-sessions", trays.body(trays.filling(tray, stock)))
    assert codes(answer) == ["vessel.not_empty"]
    assert make.refreshed(tray).contents == ml("2000")
    assert moved(last_entry(staffed).pk)["vessel", "unaccounted"] == ml("300")
    assert list(proof.differences(staffed.pk)) == []


def test_more_than_the_source_had_comes_from_unaccounted_and_is_flagged(staffed, stock, says, bo):
    large = trays.tray(staffed, "9000")
    answer = says.post("tray-sessions", trays.body(trays.filling(large, stock, "6600")))
    assert codes(answer) == ["vessel.short"]
    assert moved(last_entry(staffed).pk)["unaccounted", "vessel"] == ml("200")
    assert (make.refreshed(stock).contents, make.refreshed(large).contents) == (0, ml("6600"))
    assert len(told(bo)) == 1
    assert list(proof.differences(staffed.pk)) == []


def test_the_wrong_bath_in_a_tray_and_a_strength_nobody_gave_figures_for_are_flagged(staffed, stock, tray, says):
    wrong = trays.filling(tray, stock, role="fixer_1", dilution="1+3")
    assert codes(says.post("tray-sessions", trays.body(wrong))) == [
        "dilution.not_offered", "step.other_kind", "capacity.not_promised",
    ]  # fmt: skip


def test_undiluted_concentrate_in_a_tray_is_flagged_and_of_a_pupil_more_so(staffed, max, bo, client_for):
    concentrate, pan = trays.source(staffed, "fixer_1"), trays.tray(staffed)
    bench.inducted(staffed, max)
    raw = trays.filling(pan, concentrate, "500", role="fixer_1")
    del raw["dilution"]
    told_of = trays.body(raw, on_behalf_of=str(max.public_id))
    flags = codes(client_for(bo).post("tray-sessions", told_of))
    assert flags == ["minor.concentrate", "dilution.not_offered", "capacity.not_promised"]


@pytest.mark.parametrize(("role", "code"), [("fixer_1", "minor.concentrate"), ("developer", "minor.tray_session")])
def test_a_pupil_fills_no_trays(staffed, max, client_for, role, code):
    bench.inducted(staffed, max)
    source, pan = trays.source(staffed, role), trays.tray(staffed)
    answer = client_for(max).post("tray-sessions", trays.body(trays.filling(pan, source, "500", role=role)))
    assert (answer.status_code, answer.json()["code"]) == (403, code)
    assert make.refreshed(pan).contents == 0


def test_a_member_fills_trays_after_room_induction_only(staffed, stock, tray, di, client_for):
    new = make.member(di, name="Newt Nagel")
    answer = client_for(new).post("tray-sessions", trays.body(trays.filling(tray, stock)))
    assert (answer.status_code, answer.json()["code"]) == (403, "person.not_inducted")
    assert (make.refreshed(tray).contents, make.refreshed(stock).contents) == (0, ml("2000"))


def test_who_opened_a_session_closes_it_or_who_looks_after_the_room(staffed, stock, tray, ada, di, bo, client_for):
    session = trays.opened(staffed, tray, stock, through=trays.line(staffed, developer=stock), who=ada)
    other = make.member(di, name="Newt Nagel")
    answer = close(client_for(other), session)
    assert (answer.status_code, answer.json()["code"]) == (403, "tray-session.not_yours")
    assert close(client_for(bo), session).status_code == 200


def test_a_tray_that_nobody_says_the_way_of_is_not_emptied(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, who=ada)
    answer = close(says, session)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/trays")
    assert make.refreshed(tray).contents == ml("2000")


def test_what_film_went_through_is_flagged_in_a_paper_tray(staffed, says, ada):
    working = brew.working(staffed, "rapid-fixer", "1+4", "2000")
    Vessel.objects.filter(pk=working.pk).update(use="reuse", film_or_paper="film")
    pan = trays.tray(staffed)
    flags = codes(says.post("tray-sessions", trays.body(trays.filling(pan, working, "1500", role="fixer_1"))))
    assert flags == ["vessel.other_use", "vessel.other_material"]
    assert (make.refreshed(pan).use, make.refreshed(pan).film_or_paper) == ("tray", "paper")


def test_what_comes_from_a_stopped_vessel_stops_the_tray(staffed, stock, tray, says, ada, cy):
    brew.do(stop.stop, cy, stock, reason="smells odd")
    assert "vessel.stopped" in codes(says.post("tray-sessions", trays.body(trays.filling(tray, stock))))
    assert make.refreshed(tray).state == "stopped"
    assert Stop.objects.get(vessel=tray).reason.endswith("smells odd")


def test_who_was_never_inducted_is_flagged_not_refused(staffed, stock, tray, eli, client_for, bo):
    answer = client_for(eli).post("tray-sessions", trays.body(trays.filling(tray, stock)))
    assert codes(answer) == ["person.not_inducted"]
    assert told(bo) == [f"Tray session Evening course: {answer.json()['flags'][0]['text']}"]


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"tray": str(uuid4())}, "/trays/0/tray", "vessel.unknown"),
        ({"source": str(uuid4())}, "/trays/0/source", "vessel.unknown"),
        ({"volume": "0"}, "/trays/0/volume/value", "quantity.zero"),
        ({"volume": "3150.1"}, "/trays/0/volume", "vessel.impossible_volume"),
        ({"volume": "900000"}, "/trays/0/volume", "vessel.impossible_volume"),
        ({"volume": "1_000"}, "/trays/0/volume/value", "number.malformed"),
        ({"dilution": "1:2"}, "/trays/0/dilution", "dilution.ambiguous"),
        ({"role": "toner"}, "/trays/0/role", "field.invalid_choice"),
    ],
)
def test_what_names_nothing_or_cannot_be_is_refused_at_its_place(staffed, stock, tray, says, change, pointer, code):
    before = Movement.objects.count()
    answer = says.post("tray-sessions", trays.body(trays.filling(tray, stock, **change)))
    assert answer.status_code == 400
    (fault,) = answer.json()["errors"]
    assert (fault["pointer"], fault["code"]) == (pointer, code)
    assert (Movement.objects.count(), TraySession.objects.count()) == (before, 0)


def test_the_pointer_is_that_of_the_tray_it_is_about(staffed, stock, tray, says):
    second = trays.filling(trays.tray(staffed), stock, "2000", role="stop", dilution="1:9")
    answer = says.post("tray-sessions", trays.body(trays.filling(tray, stock), second))
    assert answer.json()["errors"][0]["pointer"] == "/trays/1/dilution"


def test_another_darkrooms_vessel_is_as_unknown_as_none(staffed, stock, tray, says, elsewhere):
    theirs = brew.bottle(elsewhere, "3000")
    for part in ("tray", "source"):
        answer = says.post("tray-sessions", trays.body(trays.filling(tray, stock, **{part: str(theirs.public_id)})))
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, f"/trays/0/{part}")


def test_a_tray_or_a_step_twice_and_a_tray_filled_from_a_tray_are_refused(staffed, stock, tray, says):
    other = trays.tray(staffed)
    first = trays.filling(tray, stock, "1000")
    for second, pointer in (
        (trays.filling(tray, stock, "1000", role="stop"), "/trays/1/tray"),
        (trays.filling(other, stock, "1000"), "/trays/1/role"),
        (trays.filling(other, tray, "1000", role="stop"), "/trays/1/source"),
    ):
        answer = says.post("tray-sessions", trays.body(first, second))
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)


def test_a_line_for_film_is_not_one_for_paper(staffed, stock, tray, says):
    film = bench.line(staffed, bench.developer(staffed))
    answer = says.post("tray-sessions", trays.body(trays.filling(tray, stock), line=str(film.public_id)))
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/line")


def test_a_time_before_the_source_was_filled_or_in_the_future_is_impossible(stock, tray, bo, client_for):
    for shift in (timedelta(days=-400), timedelta(hours=1)):
        at = (clock.now() + shift).isoformat()
        answer = client_for(bo).post("tray-sessions", trays.body(trays.filling(tray, stock), occurred_at=at))
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/occurred_at")


def test_the_same_key_fills_once_and_another_body_under_it_is_refused(stock, tray, says):
    key, body = uuid4(), trays.body(trays.filling(tray, stock))
    first, again = says.post("tray-sessions", body, key=key), says.post("tray-sessions", body, key=key)
    assert (first.content, again["Idempotency-Replayed"]) == (again.content, "true")
    assert make.refreshed(tray).contents == ml("2000")
    other = says.post("tray-sessions", {**body, "group": "Others"}, key=key)
    assert (other.status_code, other.json()["code"]) == (422, "key.reused")


def test_a_technician_opens_a_session_for_somebody_and_a_member_does_not(stock, tray, says, bo, ada, cy, client_for):
    body = trays.body(trays.filling(tray, stock))
    assert says.post("tray-sessions", {**body, "on_behalf_of": str(bo.public_id)}).status_code == 403
    made = client_for(bo).post("tray-sessions", {**body, "on_behalf_of": str(ada.public_id)})
    assert TraySession.objects.get(public_id=made.json()["id"]).opened_by == ada


# Closing


def close(speaker, session, *emptied, **more):
    return speaker.post(f"tray-sessions/{session.public_id}/closing", {"trays": list(emptied), **more})


def gone(role="developer", **more):
    return {"role": role, **more}


def into(vessel=None, container=None):
    if vessel:
        return {"to": {"vessel": str(vessel.public_id)}}
    return {"to": {"container": str(container.public_id)}}


def test_by_default_every_tray_goes_to_the_container_of_its_step(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, through=trays.line(staffed, developer=stock), who=ada)
    answer = close(says, session)
    assert (answer.status_code, codes(answer)) == (200, [])
    assert moved(last_entry(staffed).pk) == {("vessel", "container"): ml("2000")}
    fill = Fill.objects.get()
    assert (fill.volume, fill.origin["formula"], fill.origin["dilution"]) == (ml("2000"), "mq-carbonate", "1+2")
    row = make.refreshed(tray)
    assert (row.contents, row.state, row.level_known_at) == (0, "emptied", make.refreshed(session).closed_at)
    assert list(proof.differences(staffed.pk)) == []


def test_what_is_missing_of_a_tray_goes_to_unaccounted(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, through=trays.line(staffed, developer=stock), who=ada)
    assert codes(close(says, session, gone(volume=quantity("1950")))) == []
    assert moved(last_entry(staffed).pk) == {
        ("vessel", "container"): ml("1950"), ("vessel", "unaccounted"): ml("50"),
    }  # fmt: skip


def test_much_missing_without_a_word_is_flagged_and_told(staffed, stock, tray, says, ada, bo):
    session = trays.opened(staffed, tray, stock, who=ada)
    assert codes(close(says, session, gone())) == ["pour_back.short"]
    assert moved(last_entry(staffed).pk) == {("vessel", "unaccounted"): ml("2000")}
    assert len(told(bo)) == 1


def test_more_than_the_tray_held_is_recorded_and_flagged(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, who=ada)
    can = pail.can(brew.staff(staffed), "bw-developer", rated="20000")
    assert codes(close(says, session, gone(**into(container=can), volume=quantity("2100")))) == ["vessel.short"]
    assert make.refreshed(can).contents == ml("2100")
    assert make.refreshed(tray).contents == 0
    assert list(proof.differences(staffed.pk)) == []


def test_a_used_tray_may_be_kept_in_an_empty_bottle_with_its_load(staffed, tray, says, ada):
    fixer, bottle = trays.source(staffed, "fixer_1"), brew.bottle(staffed, "2500")
    session = trays.opened(staffed, tray, fixer, role="fixer_1", who=ada)
    trays.tallied(session, ada, 4)
    assert codes(close(says, session, gone("fixer_1", **into(bottle)))) == []
    row = bench.fresh(bottle)
    # 4 sheets 8x10 are 4 roll units, of which nothing stays behind; 10 mL cling to the paper of each.
    assert (row.contents, row.load, row.use, row.film_or_paper) == (ml("1960"), 4 * 3600, "tray", "paper")
    assert (make.refreshed(tray).contents, make.refreshed(tray).load) == (0, 0)
    assert list(proof.differences(staffed.pk)) == []


@pytest.mark.parametrize("use", ["tray", "reuse"])
def test_a_used_bottle_of_the_same_liquid_takes_it_back(staffed, tray, says, ada, use):
    used = brew.working(staffed, "rapid-fixer", "1+4", "4000")
    session = trays.opened(staffed, tray, used, "1500", role="fixer_1", who=ada)
    Vessel.objects.filter(pk=used.pk).update(use=use, film_or_paper="paper")
    assert codes(close(says, session, gone("fixer_1", **into(used)))) == []
    assert (make.refreshed(used).contents, make.refreshed(used).state) == (ml("4000"), "ready")


@pytest.mark.parametrize(
    ("change", "flag"),
    [
        ({}, "vessel.fresh"),
        ({"use": "fresh"}, "vessel.fresh"),
        ({"use": "reuse", "film_or_paper": "film"}, "vessel.other_material"),
        ({"use": "replenished", "film_or_paper": "paper"}, "vessel.other_use"),
    ],
)
def test_used_liquid_in_the_wrong_bottle_is_recorded_flagged_and_stops_it(staffed, tray, says, ada, change, flag, bo):
    bottle = brew.working(staffed, "rapid-fixer", "1+4", "4000")
    session = trays.opened(staffed, tray, bottle, "1500", role="fixer_1", who=ada)
    Vessel.objects.filter(pk=bottle.pk).update(**change)
    assert codes(close(says, session, gone("fixer_1", **into(bottle)))) == [flag]
    row = make.refreshed(bottle)
    assert (row.contents, row.state) == (ml("4000"), "stopped")
    assert Notice.objects.filter(to=bo, kind="vessel-stopped", safety=True).count() == 1


def test_a_used_tray_poured_into_the_stock_it_came_from_is_another_strength(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, "1000", who=ada)
    assert codes(close(says, session, gone(**into(stock), volume=quantity("300")))) == [
        "vessel.other_strength", "pour_back.short",
    ]  # fmt: skip
    assert make.refreshed(stock).state == "stopped"
    assert list(proof.differences(staffed.pk)) == []


def test_a_tray_in_the_wrong_container_quarantines_it(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, who=ada)
    can = pail.can(brew.staff(staffed), "fixer", rated="20000")
    assert codes(close(says, session, gone(**into(container=can)))) == [
        "container.incompatible",
        "container.wrong_stream",
    ]
    assert make.refreshed(can).state == "quarantined"


def test_the_cost_of_what_was_not_printed_falls_to_the_darkroom(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, through=trays.line(staffed, developer=stock), who=ada)
    mixed = make.refreshed(tray).batch
    close(says, session)
    batch = Batch.objects.get(pk=mixed.pk)
    # 666.7 mL of 3800 that cost 12.00: 2.11; arithmetic.
    assert (batch.cost_minor, batch.closed_at) == (211, make.refreshed(session).closed_at)
    assert batch.cost_shares.filter(member=None, into=None).aggregate(sum=Sum("minor"))["sum"] == 211


def test_a_tray_is_free_again_after_its_session(staffed, stock, tray, says, ada):
    close(says, trays.opened(staffed, tray, stock, who=ada), gone())
    assert codes(says.post("tray-sessions", trays.body(trays.filling(tray, stock)))) == []


def test_a_session_is_closed_once(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, who=ada)
    close(says, session, gone())
    again = close(says, session, gone())
    assert (again.status_code, again.json()["code"]) == (409, "tray-session.closed")


def test_a_closed_session_shows_no_tray_of_its_own_any_more(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, who=ada)
    close(says, session, gone())
    (row,) = says.get(f"tray-sessions/{session.public_id}").json()["trays"]
    assert row.pop("vessel")["code"] == tray.code
    assert row.pop("role") == "developer"
    assert set(row.values()) == {None}


def test_an_end_before_the_beginning_or_before_the_last_sheet_is_impossible(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, who=ada)
    trays.tallied(session, ada)
    for at in (session.opened_at - timedelta(seconds=1), session.opened_at):
        answer = close(says, session, occurred_at=at.isoformat())
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/occurred_at")
    assert make.refreshed(session).closed_at is None


@pytest.mark.parametrize(
    ("emptied", "pointer"),
    [
        (gone("stop"), "/trays/0/role"),
        (gone(to={"vessel": str(uuid4())}), "/trays/0/to/vessel"),
        (gone(to={"container": str(uuid4())}), "/trays/0/to/container"),
        (gone(to={}), "/trays/0/to"),
        (gone(to={"vessel": str(uuid4()), "container": str(uuid4())}), "/trays/0/to"),
    ],
)
def test_a_goal_that_is_nowhere_here_is_refused_at_its_place(staffed, stock, tray, says, ada, emptied, pointer):
    session = trays.opened(staffed, tray, stock, who=ada)
    answer = close(says, session, emptied)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)
    assert make.refreshed(tray).contents == ml("2000")


def test_a_tray_is_not_emptied_into_a_tray_of_the_session_nor_a_container_named_as_a_vessel(
    staffed, stock, tray, says, ada
):
    session = trays.opened(staffed, tray, stock, who=ada)
    can = pail.can(brew.staff(staffed), "bw-developer", rated="20000")
    for goal in (tray, can):
        answer = close(says, session, gone(**into(goal)))
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/trays/0/to/vessel")


def test_a_session_typed_in_the_day_after_leaves_a_tray_in_use_today_alone(staffed, stock, tray, ada, bo):
    """The wall log of yesterday: opened, printed and closed, while the tray has been filled anew since."""
    now = clock.now()
    with clock.fixed(now - timedelta(days=1)):
        old = trays.source(staffed)
    today = trays.opened(staffed, tray, stock, who=ada)
    before = bench.fresh(tray)
    yesterday = trays.opened(staffed, tray, old, at=now - timedelta(hours=20), who=bo)
    tally = trays.tallied(yesterday, bo, 4, at=now - timedelta(hours=19))
    assert tally.flags == ["vessel.refilled"]
    brew.do(traysession.close, bo, yesterday, at=now - timedelta(hours=18))
    after = bench.fresh(tray)
    assert (after.contents, after.load, after.batch, after.state) == (
        before.contents, before.load, before.batch, before.state,
    )  # fmt: skip
    assert make.refreshed(today).closed_at is None
    assert list(proof.differences(staffed.pk)) == []


def test_a_level_read_during_the_session_counts(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, through=trays.line(staffed, developer=stock), who=ada)
    brew.do(level.read, ada, tray, measured=ml("1800"))
    close(says, session)
    assert moved(last_entry(staffed).pk) == {("vessel", "container"): ml("1800")}
    assert list(proof.differences(staffed.pk)) == []


# Reading


def test_the_list_asks_a_constant_number_of_queries(staffed, stock, says, ada, django_assert_num_queries):
    def printed():
        session = trays.opened(staffed, trays.tray(staffed), stock, "300", who=ada)
        trays.tallied(session, ada)
        trays.tallied(session, ada, 2, "paper-5x7")

    printed()
    for many in (1, 2):
        # Who asks (token with person, membership), sessions, trays, tallies.
        with django_assert_num_queries(5):
            assert len(says.get("tray-sessions").json()["items"]) == many
        printed()


def test_the_list_is_filtered_by_line_and_by_tray_and_paged(staffed, stock, tray, says, ada):
    through = trays.line(staffed, developer=stock)
    first = trays.opened(staffed, tray, stock, "300", who=ada, through=through)
    second = trays.opened(staffed, trays.tray(staffed), stock, "300", who=ada)

    def ids(query):
        return [item["id"] for item in says.get(f"tray-sessions?{query}").json()["items"]]

    assert ids("") == [str(second.public_id), str(first.public_id)]
    assert ids(f"line={through.public_id}") == ids(f"vessel={tray.public_id}") == [str(first.public_id)]
    page = says.get("tray-sessions?limit=1").json()
    assert [item["id"] for item in says.get(page["next"]).json()["items"]] == [str(first.public_id)]
    assert says.get("tray-sessions?line=x").status_code == 400


def test_another_darkrooms_session_is_not_there(staffed, stock, tray, outsider, client_for, ada):
    session = trays.opened(staffed, tray, stock, who=ada)
    for path in ("", "/closing", "/tallies"):
        speaker = client_for(outsider)
        answer = speaker.get(f"tray-sessions/{session.public_id}") if not path else close(speaker, session)
        assert answer.status_code == 404


def test_hours_left_go_down_and_not_below_nothing(staffed, stock, tray, says, ada):
    session = trays.opened(staffed, tray, stock, who=ada)
    for hours, left in ((0.5, "7.5"), (7.99, "0.0"), (30, "0.0")):
        with clock.fixed(session.opened_at + timedelta(hours=hours)):
            (row,) = says.get(f"tray-sessions/{session.public_id}").json()["trays"]
        assert row["hours_left"] == left
        assert Decimal(left) >= 0


def test_a_tray_named_in_a_closing_with_no_goal_goes_to_the_line(staffed, stock, tray, ada):
    session = trays.opened(staffed, tray, stock, through=trays.line(staffed, developer=stock), who=ada)
    brew.do(traysession.close, ada, session, trays=[Emptying("developer")])
    assert Fill.objects.get().volume == ml("2000")
