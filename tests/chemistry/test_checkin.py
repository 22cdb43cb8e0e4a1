"""Check-ins: what they charge to each vessel, what they flag and stop, and that nothing of it is ever refused."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db.models import Sum

from accounts.models import Membership, Notice
from chemistry.commands import bathtest, flagtext, level, ruling, transfer
from chemistry.models import Batch, Charge, CheckIn, Hold, Movement, Place, Stop, TankPlan, Vessel, VesselState
from chemistry.models.stop import StopKind
from darkroom_service import clock
from darkroom_service.localday import day_of
from tests.chemistry import bench, brew
from tests.waste import pail
from waste.models import Fill


@pytest.fixture
def staffed(room, bo, eli, cy, ada):
    """The room with its people, Ada inducted."""
    bench.inducted(room, ada)
    return room


@pytest.fixture
def line(staffed):
    """A line whose developer is a full litre of fresh MQ-borax stock."""
    return bench.line(staffed, bench.developer(staffed))


def bath_of(line, role="developer"):
    return Vessel.objects.with_contents().get(pk=line.steps.get(role=role).vessel_id)


def moved(check_in):
    """Return what a check-in moved: {(from, to): 0.1 mL}."""
    rows = Movement.objects.filter(entry=check_in.entry_id)
    sums = rows.values_list("source", "target").annotate(Sum("volume"))
    return {(source, target): volume for source, target, volume in sums}


def told_to(member):
    return Notice.objects.filter(to=member).exclude(kind__startswith="batch")


# What each way of use charges


def test_a_one_shot_tank_draws_stock_adds_water_and_goes_to_the_container(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed), cans=True)
    answer = client_for(ada).post("check-ins", bench.tank(line, size="500"))
    check_in = bench.row(answer)
    assert bench.codes(answer) == []
    # 500 mL at 1+1, 5 mL carried out with one roll: exact arithmetic.
    assert moved(check_in) == {
        ("vessel", "run"): 2500, ("water", "run"): 2500, ("run", "carried_out"): 50, ("run", "container"): 4950,
    }  # fmt: skip
    bath = bath_of(line)
    assert (bath.contents, bath.load, bath.use, bath.film_or_paper) == (7500, 0, "fresh", "film")
    fill = Fill.objects.get()
    assert (fill.volume, fill.container.contents) == (4950, 4950)
    assert fill.origin["batch"] == bath.batch.code
    assert (fill.origin["formula"], fill.origin["dilution"], fill.origin["load"]) == ("mq-borax", "1+1", "1.0000")
    assert fill.origin["g_per_l"]["123-31-9"] == "2.5"  # hydroquinone, 5 g/L of stock at 1+1


def test_a_reused_tank_comes_back_but_for_what_clings_and_leaves_its_load(line, ada, client_for):
    answer = client_for(ada).post("check-ins", bench.reuse(line, rolls=2, size="600"))
    check_in = bench.row(answer)
    assert moved(check_in) == {("vessel", "run"): 6000, ("run", "vessel"): 5900, ("run", "carried_out"): 100}
    bath = bath_of(line)
    assert (bath.contents, bath.basis, bath.load, bath.use) == (9900, 10000, 7200, "reuse")
    assert bath.area == check_in.area == 1_134_000  # two strips of 35 x 1620 mm, from memory of ISO 1007
    assert answer.json()["vessels"][0]["load_left"] == "8.0000"  # of ten with compensation


def test_a_reused_vessel_that_is_still_nearly_full_is_not_called_part_full(line, ada, client_for):
    client_for(ada).post("check-ins", bench.reuse(line, size="600"))
    assert bath_of(line).part_full_since is None


def test_a_replenished_tank_owes_so_much_for_each_roll(line, ada, client_for):
    body = bench.tank(line, rolls=2, size="600", use="replenished", dilution="stock")
    answer = client_for(ada).post("check-ins", body)
    assert bench.codes(answer) == []
    assert bath_of(line).replenish_owed == 1400  # 70 mL for each roll, an illustration
    assert answer.json()["vessels"][0]["replenish_owed"]["value"] == "140.0"


def test_every_vessel_of_the_line_is_charged_by_its_own_rule(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed), full=True, cans=True)
    answer = client_for(ada).post("check-ins", bench.tank(line, size="500"))
    assert bench.codes(answer) == []
    told = {each["role"]: each for each in answer.json()["vessels"]}
    assert list(told) == ["developer", "stop", "fixer_1", "washing_aid"]
    for role in ("stop", "fixer_1", "washing_aid"):
        bath = bath_of(line, role)
        assert (bath.contents, bath.load, bath.use, bath.film_or_paper) == (9950, 3600, "reuse", "film")
        assert told[role]["load"] == "1.0000"
    assert Fill.objects.count() == 1


def test_a_concentrate_is_diluted_for_one_tank_and_poured_away(staffed, ada, client_for):
    bath, stop = bench.developer(staffed), brew.concentrate(staffed, "stop-acetic", "1000")
    line = brew.line(staffed, developer=bath, stop=stop)
    bench.row(client_for(ada).post("check-ins", bench.tank(line, size="500")))
    used = bench.fresh(stop)
    assert (used.contents, used.load, used.use) == (10000 - 238, 0, "fresh")  # 500 / 21 mL, half-even to 0.1


def test_half_frame_is_charged_like_a_full_roll(line, ada, client_for):
    # Scenario s01: exact, the same strip of film.
    client = client_for(ada)
    plain = bench.row(client.post("check-ins", bench.reuse(line)))
    half = bench.row(client.post("check-ins", bench.reuse(line) | {"films": [{"format": "135-36-half"}]}))
    assert (half.load, half.area) == (plain.load, plain.area) == (3600, 567_000)


def test_thirds_of_a_roll_never_drift(line, ada, client_for):
    body = bench.reuse(line) | {"films": [{"format": "135-12", "count": 1}]}
    for _ in range(3):
        bench.row(client_for(ada).post("check-ins", body))
    assert bath_of(line).load == 3600  # 12/36 x 3: common practice, by frames


def test_all_mixed_films_of_a_tank_are_added_up(line, ada, client_for):
    films = [{"format": "120", "count": 1}, {"format": "4x5", "count": 4}, {"format": "135-24"}]
    answer = client_for(ada).post("check-ins", bench.reuse(line, size="1000") | {"films": films})
    assert answer.json()["load"] == "2.6667"  # 1 + 4 x 1/4 + 24/36: common practice
    assert answer.json()["load_units"] == 9600


# Plans


def test_a_check_in_with_its_plan_needs_nothing_else_and_frees_what_was_held(line, ada, client_for):
    client = client_for(ada)
    body = bench.tank(line, size="473", base_time=bench.quantity("10", "min"), hold=True)
    plan = client.post("tank-plans", body).json()
    answer = client.post("check-ins", {"plan": plan["id"]})
    check_in = bench.row(answer)
    assert (check_in.tank, check_in.use, check_in.dilution, check_in.load) == (4730, "one_shot", "1+1", 3600)
    assert answer.json()["advice"]["time"] == plan["time"]
    assert TankPlan.objects.get().used_at is not None
    assert not Hold.objects.standing(clock.now()).exists()


def test_a_plan_used_twice_is_written_and_flagged(line, ada, client_for):
    client = client_for(ada)
    plan = client.post("tank-plans", bench.tank(line, size="473")).json()["id"]
    assert bench.codes(client.post("check-ins", {"plan": plan})) == []
    assert bench.codes(client.post("check-ins", {"plan": plan})) == ["plan.over"]


def test_what_differs_from_the_plan_is_taken_as_told(line, ada, client_for):
    client = client_for(ada)
    plan = client.post("tank-plans", bench.tank(line, size="473")).json()["id"]
    check_in = bench.row(client.post("check-ins", {"plan": plan, "tank": bench.quantity("946")}))
    assert check_in.tank == 9460


def test_somebody_elses_plan_is_as_if_it_were_not_there(line, staffed, ada, max, client_for):
    plan = client_for(ada).post("tank-plans", bench.tank(line)).json()["id"]
    answer = client_for(max).post("check-ins", {"plan": plan})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/plan")


def test_a_plan_of_somebody_else_is_flagged_and_keeps_what_it_kept(line, ada, bo, client_for):
    plan = client_for(ada).post("tank-plans", bench.tank(line, size="473", hold=True)).json()["id"]
    answer = client_for(bo).post("check-ins", {"plan": plan})
    assert "plan.not_own" in bench.codes(answer)
    assert Hold.objects.filter(plan__public_id=plan, released_at=None).exists()
    told = {"plan": plan, "on_behalf_of": str(ada.public_id)}
    assert "plan.not_own" not in bench.codes(client_for(bo).post("check-ins", told))
    assert not Hold.objects.filter(plan__public_id=plan, released_at=None).exists()


def test_a_temperature_told_with_a_plan_outdoes_the_planned_one(line, ada, client_for):
    client = client_for(ada)
    planned = bench.tank(line, size="473", base_time=bench.quantity("10", "min"))
    plan = client.post("tank-plans", planned).json()
    answer = client.post("check-ins", {"plan": plan["id"], "temperature": bench.quantity("24", "degC")})
    given = answer.json()["advice"]
    assert (given["plan"], given["time"]["base_min"], plan["time"]["minutes"]) == (plan["id"], "10", "10.000")
    assert float(given["time"]["minutes"]) < 10


def test_however_much_film_is_told_the_load_before_comes_back_when_it_is_taken_back(staffed, ada, client_for):
    """A count mistyped so far that all liquid would cling to the film leaves the vessel, and its load, on record."""
    through = bench.line(staffed, bench.developer(staffed, "500"))
    client = client_for(ada)
    bench.row(client.post("check-ins", bench.reuse(through)))
    typo = bench.row(client.post("check-ins", bench.reuse(through, rolls=1000)))
    assert client.post(f"check-ins/{typo.public_id}/reversal", {"reason": "1, not 1000"}).status_code == 201
    assert bench.fresh(through.steps.get().vessel).load == 3600


def test_the_time_told_without_a_plan_is_worked_out_from_before_the_tank(line, ada, client_for):
    client, how = client_for(ada), {"compensate": True, "base_time": bench.quantity("10", "min")}
    minutes = []
    for _ in range(3):
        answer = client.post("check-ins", bench.reuse(line, **how))
        assert bench.codes(answer) == []
        minutes.append(answer.json()["advice"]["time"]["minutes"])
    assert minutes == ["10.000", "11.000", "12.000"]  # reuse_time_n1 to n3, common practice, a litre


# Reports are never refused: they are flagged, and told


def flags_of(client, body):
    return bench.codes(client.post("check-ins", body))


def test_too_little_stock_is_flagged_and_the_technician_is_told(line, ada, bo, eli, client_for):
    assert flags_of(client_for(ada), bench.tank(line, size="300", dilution="1+3")) == ["tank.short_of_stock"]
    notice = told_to(bo).get(kind="check-in-flagged")
    assert "Too little stock" in notice.text
    assert told_to(eli).filter(kind="check-in-flagged").exists()
    assert not told_to(ada).exists()


def test_an_overrun_is_written_flagged_and_never_takes_the_last_drop_below_zero(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed, "300"))
    answer = client_for(ada).post("check-ins", bench.tank(line, rolls=2, size="946"))
    check_in = bench.row(answer)
    assert bench.codes(answer) == ["vessel.short"]
    assert moved(check_in)[("unaccounted", "vessel")] == 1730
    bath = bath_of(line)
    assert (bath.contents, bath.state) == (0, VesselState.EMPTIED)


def test_more_than_the_capacity_is_written_whole_and_flagged(line, ada, client_for):
    # Scenario s02 as a report: a report is recorded and flagged, never refused.
    Vessel.objects.filter(pk=bath_of(line).pk).update(use="reuse", film_or_paper="film", load=int(3.2 * 3600))
    client = client_for(ada)
    assert flags_of(client, bench.reuse(line)) == ["capacity.exhausted"]
    assert flags_of(client, bench.reuse(line)) == ["capacity.exhausted"]
    assert bath_of(line).load == int(5.2 * 3600)


def test_up_to_ten_rolls_a_litre_with_compensation_pass_without_a_flag(line, ada, client_for):
    # Common practice, no source.
    body = bench.reuse(line, rolls=2, size="600", compensate=True)
    assert [flags_of(client_for(ada), body) for _ in range(5)] == [[]] * 5
    assert bath_of(line).state == VesselState.SPENT
    assert set(flags_of(client_for(ada), body)) == {"vessel.spent", "capacity.exhausted"}


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({"state": VesselState.STOPPED}, {"vessel.stopped"}),
        ({"made_at": "2019-01-01T00:00Z", "last_pass_at": None}, {"vessel.expired"}),
        ({"use": "reuse"}, {"vessel.used"}),
        ({"film_or_paper": "paper"}, {"vessel.other_material"}),
    ],
)
def test_a_vessel_that_was_not_fit_is_flagged(line, ada, client_for, changes, codes):
    Vessel.objects.filter(pk=bath_of(line).pk).update(**changes)
    assert set(flags_of(client_for(ada), bench.tank(line))) == codes


def test_a_batch_not_released_is_flagged(staffed, ada, client_for):
    drum = brew.drum_of(brew.mixed_batch(staffed))
    assert flags_of(client_for(ada), bench.tank(bench.line(staffed, drum))) == ["vessel.waiting"]


def test_a_failed_fixer_is_flagged_whatever_it_has_still_to_do(staffed, bo, ada, client_for):
    # Scenario s06: 40 % of the count used, clearing time 2.02 times fresh; US Navy photography course.
    line = bench.line(staffed, bench.developer(staffed), full=True)
    fixer, clears = bath_of(line, "fixer_1"), {"film": "any 400 film"}
    brew.do(bathtest.record, bo, vessel=fixer.public_id, for_release=True, seconds=45, **clears)
    Vessel.objects.filter(pk=fixer.pk).update(use="reuse", film_or_paper="film", load=8 * 3600)
    brew.do(bathtest.record, bo, vessel=fixer.public_id, seconds=91, **clears)
    answer = client_for(ada).post("tank-plans", bench.tank(line))
    assert (answer.status_code, answer.json()["code"]) == (422, "vessel.stopped")
    assert flags_of(client_for(ada), bench.tank(line)) == ["vessel.stopped"]


def test_nobody_is_refused_for_training_and_the_flag_says_so(line, max, client_for):
    assert flags_of(client_for(max), bench.tank(line)) == ["person.not_inducted"]


def test_induction_counts_as_of_the_day_it_was_done(line, ada, client_for):
    before = clock.now() - timedelta(days=400)
    Vessel.objects.filter(pk=bath_of(line).pk).update(filled_at=before, made_at=before, level_known_at=None)
    Batch.objects.update(mixed_at=before, released_at=before)
    body = bench.tank(line, occurred_at=(before + timedelta(days=1)).isoformat())
    assert "person.not_inducted" in flags_of(client_for(ada), body)


def test_another_members_own_bottle_is_flagged_and_costs_nothing(staffed, ada, cy, client_for):
    mine = brew.bottle(staffed, "600", owner=ada)
    line = bench.line(staffed, bench.developer(staffed))
    brew.do(
        transfer.decant, brew.staff(staffed), source=bath_of(line).public_id, target=mine.public_id,
        volume=bench.ml("600"),
    )  # fmt: skip
    body = bench.tank(line, vessel=str(mine.public_id))
    answer = client_for(ada).post("check-ins", body)
    assert bench.codes(answer) == []
    assert answer.json()["cost"]["minor"] == 0
    assert "vessel.private" in flags_of(client_for(cy), body)


# Rules that endanger the bath stop it


@pytest.mark.parametrize("process", ["backed_motion_picture", "colour_negative"])
def test_foreign_film_stops_every_bath_that_was_poured_back(staffed, ada, bo, client_for, process):
    # Scenario s13, from memory.
    line = bench.line(staffed, bench.developer(staffed), full=True)
    body = bench.tank(line) | {"films": [{"format": "135-36", "count": 1, "process": process}]}
    answer = client_for(ada).post("check-ins", body)
    assert answer.status_code == 201
    states = {each["role"]: each["state"] for each in answer.json()["vessels"]}
    assert states == {"developer": "ready", "stop": "stopped", "fixer_1": "stopped", "washing_aid": "stopped"}
    assert Stop.objects.filter(kind=StopKind.RULE_BROKEN).count() == 3
    assert told_to(bo).filter(kind="check-in-flagged", safety=True).exists()


def test_used_liquid_poured_into_fresh_stops_the_bottle(line, ada, client_for):
    answer = client_for(ada).post("check-ins", bench.tank(line, dilution="stock", poured_back=bench.quantity("400")))
    assert bench.codes(answer) == ["vessel.fresh"]
    assert bath_of(line).state == VesselState.STOPPED
    assert bath_of(line).contents == 9000


def test_a_fresh_bottle_is_not_quietly_made_a_used_one(line, ada, client_for):
    client = client_for(ada)
    assert flags_of(client, bench.tank(line)) == []
    assert set(flags_of(client, bench.reuse(line))) == {"vessel.other_use", "vessel.fresh"}
    bath = bath_of(line)
    assert (bath.use, bath.state) == ("fresh", VesselState.STOPPED)


def test_a_working_dilution_poured_back_into_stock_stops_it(line, ada, client_for):
    codes = flags_of(client_for(ada), bench.tank(line, use="reuse", dilution="1+1"))
    assert "vessel.other_strength" in codes
    assert bath_of(line).state == VesselState.STOPPED


def test_a_second_bath_poured_into_the_first_stops_the_first(staffed, ada, client_for):
    # Scenario s14, from memory.
    first, second = bench.developer(staffed), bench.second_bath(staffed)
    line = bench.line(staffed, second)
    body = bench.reuse(line, poured_back_into=str(first.public_id))
    answer = client_for(ada).post("check-ins", body)
    assert bench.codes(answer) == ["vessel.overfull", "vessel.first_bath"]
    now = bench.fresh(first)
    assert (now.state, now.contents) == (VesselState.STOPPED, 10000 + 4950)
    assert bench.fresh(second).state == VesselState.READY
    assert (now.load, bench.fresh(second).load) == (3600, 0)


def test_a_spent_fixer_poured_away_tells_its_silver_as_a_computed_range(staffed, bo, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed), full=True, cans=True)
    bench.row(client_for(ada).post("check-ins", bench.tank(line)))
    fixer = line.steps.get(role="fixer_1")
    brew.do(transfer.empty, bo, source=fixer.vessel.public_id, container=fixer.container.public_id)
    silver = Fill.objects.get(container=fixer.container).origin["silver_mg"]
    # 567 cm² of film at 4.5 g/m² (3-7), 70 % dissolved: from memory.
    assert (silver["low"], silver["nominal"], silver["high"]) == ("119.1", "178.6", "277.8")
    assert silver["computed"] is True


# Volumes told otherwise


def test_what_was_not_poured_back_is_unaccounted_and_only_a_large_part_is_asked_about(line, ada, client_for):
    client = client_for(ada)
    answer = client.post("check-ins", bench.reuse(line, size="600", poured_back=bench.quantity("580")))
    assert bench.codes(answer) == []
    assert moved(bench.row(answer))[("run", "unaccounted")] == 150
    answer = client.post("check-ins", bench.reuse(line, size="600", poured_back=bench.quantity("300")))
    assert bench.codes(answer) == ["pour_back.short"]


def test_a_spent_tank_poured_away_takes_its_share_of_load_along(line, bo, ada, client_for):
    client, can = client_for(ada), pail.can(bo, "bw-developer")
    bench.row(client.post("check-ins", bench.reuse(line, rolls=2, size="600")))
    body = bench.reuse(line, size="990", poured_back=bench.quantity("0"), containers={"developer": str(can.public_id)})
    bench.row(client.post("check-ins", body))
    bath = bath_of(line)
    assert (bath.contents, bath.basis, bath.load, bath.state) == (0, 0, 0, VesselState.EMPTIED)
    # Its own roll, and of the two before all but what went out on film: 7200 x 985/990.
    assert Fill.objects.get().origin["load_units"] == 3600 + 7164


def test_more_poured_back_than_was_drawn_comes_from_unaccounted(line, ada, client_for):
    answer = client_for(ada).post("check-ins", bench.reuse(line, poured_back=bench.quantity("520")))
    assert bench.codes(answer) == ["vessel.overfull", "pour_back.over"]
    assert moved(bench.row(answer)) == {
        ("vessel", "run"): 5000, ("unaccounted", "run"): 200, ("run", "vessel"): 5200,
    }  # fmt: skip


def test_a_full_container_is_flagged_and_still_takes_it(staffed, bo, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed))
    can = pail.can(bo, "bw-developer", rated="300")
    body = bench.tank(line, containers={"developer": str(can.public_id)})
    assert set(flags_of(client_for(ada), body)) == {"container.overfull", "container.over_rated"}


# Time


def test_a_late_entry_keeps_both_times_and_is_charged(line, ada, client_for):
    at = clock.now() - timedelta(hours=5)
    Vessel.objects.filter(pk=bath_of(line).pk).update(filled_at=at - timedelta(days=1), level_known_at=None)
    Batch.objects.update(mixed_at=at - timedelta(days=2), released_at=at - timedelta(days=1))
    check_in = bench.row(client_for(ada).post("check-ins", bench.reuse(line, occurred_at=at.isoformat())))
    assert check_in.occurred_at == at
    assert check_in.recorded_at > at + timedelta(hours=4)
    assert bath_of(line).load == 3600


def aged(line, days):
    """Make a vessel and its batch so many days old."""
    at, bath = clock.now() - timedelta(days=days), bath_of(line)
    Vessel.objects.filter(pk=bath.pk).update(filled_at=at, made_at=at, level_known_at=at)
    Batch.objects.filter(pk=bath.batch_id).update(mixed_at=at, released_at=at)
    return at


def test_a_late_sheet_recomputes_the_load_keeps_advice_and_tells_who_came_after(line, ada, cy, client_for):
    # Scenario s11: entered today for yesterday, after today's entries.
    aged(line, days=2)
    compensated = {"compensate": True, "base_time": bench.quantity("10", "min")}
    later = client_for(cy).post("check-ins", bench.reuse(line, rolls=4, size="1000", **compensated))
    yesterday = (clock.now() - timedelta(days=1)).isoformat()
    late = client_for(ada).post(
        "check-ins", bench.reuse(line, rolls=7, size="1000", occurred_at=yesterday, compensate=True)
    )
    assert "capacity.exhausted" in bench.codes(late)
    assert bath_of(line).load == 11 * 3600
    assert client_for(cy).get(f"check-ins/{later.json()['id']}").json()["advice"] == later.json()["advice"]
    assert "too short" in told_to(cy).get(kind="late-entry").text
    assert not told_to(ada).filter(kind="late-entry").exists()


def test_an_entry_from_before_the_level_was_read_changes_no_level(line, ada, bo, client_for):
    at = aged(line, days=2)
    brew.do(level.read, bo, bath_of(line), measured=9000)
    body = bench.tank(line, occurred_at=(at + timedelta(hours=1)).isoformat())
    assert "vessel.level_known" in flags_of(client_for(ada), body)
    assert bath_of(line).contents == 9000


def test_an_entry_for_an_earlier_filling_leaves_the_present_one_alone(staffed, ada, bo, client_for):
    then = clock.now() - timedelta(days=4)
    bath = bench.developer(staffed, at=then)
    with clock.fixed(then + timedelta(days=2)):
        bench.inducted(staffed, ada)
        can = pail.can(bo, "bw-developer")
        brew.do(transfer.empty, bo, source=bath.public_id, container=can.public_id)
    drum = brew.drum_of(bath.batch)
    brew.do(transfer.decant, bo, source=drum.public_id, target=bath.public_id, volume=8000)
    line = bench.line(staffed, bath)
    answer = client_for(ada).post("check-ins", bench.reuse(line, occurred_at=(then + timedelta(days=1)).isoformat()))
    assert set(bench.codes(answer)) == {"vessel.refilled", "person.not_inducted"}
    now = bench.fresh(bath)
    assert (now.contents, now.basis, now.load, now.use) == (8000, 8000, 0, "")
    assert bench.row(answer).load == 3600


@pytest.mark.parametrize("days", [30, 3000])
def test_a_time_before_the_vessel_was_filled_or_mixed_is_impossible(line, ada, client_for, days):
    body = bench.tank(line, occurred_at=(clock.now() - timedelta(days=days)).isoformat())
    answer = client_for(ada).post("check-ins", body)
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/occurred_at"
    assert not CheckIn.objects.exists()


def test_a_time_that_has_not_come_is_impossible(line, ada, client_for):
    body = bench.tank(line, occurred_at=(clock.now() + timedelta(hours=1)).isoformat())
    assert client_for(ada).post("check-ins", body).json()["errors"][0]["pointer"] == "/occurred_at"


# Shape, identity, keys


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"tank": {"value": "-1", "unit": "mL"}}, "/tank/value"),
        ({"tank": {"value": "1e3", "unit": "mL"}}, "/tank/value"),
        ({"dilution": "1:3"}, "/dilution"),
        ({"films": [{"format": "135-36", "count": 10**9}]}, "/films/0/count"),
        ({"plan": str(uuid4())}, "/plan"),
        ({"line": str(uuid4())}, "/line"),
        ({"vessel": str(uuid4())}, "/vessel"),
        ({"poured_back_into": str(uuid4())}, "/poured_back_into"),
        ({"containers": {"developer": str(uuid4())}}, "/containers/developer"),
        ({"containers": {"rinse": None}}, "/containers/rinse"),
        ({"on_behalf_of": str(uuid4())}, "/on_behalf_of"),
        ({"cost": 1}, "/cost"),
    ],
)
def test_what_cannot_be_read_is_refused_where_it_stands(line, bo, client_for, change, pointer):
    answer = client_for(bo).post("check-ins", bench.tank(line) | change)
    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
    assert not CheckIn.objects.exists()


@pytest.mark.parametrize("name", ["line", "films", "tank", "use", "dilution"])
def test_without_a_plan_everything_is_told(line, ada, client_for, name):
    body = bench.tank(line)
    del body[name]
    answer = client_for(ada).post("check-ins", body)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, f"/{name}")


def test_the_same_key_charges_once_and_another_body_is_refused(line, ada, client_for):
    client, key = client_for(ada), uuid4()
    first = client.post("check-ins", bench.reuse(line), key=key)
    again = client.post("check-ins", bench.reuse(line), key=key)
    assert (again.status_code, again.content) == (201, first.content)
    assert bath_of(line).load == 3600
    other = client.post("check-ins", bench.reuse(line, rolls=2), key=key)
    assert (other.status_code, other.json()["code"]) == (422, "key.reused")


def test_a_technician_writes_down_somebody_elses_film(line, ada, bo, max, client_for):
    body = bench.tank(line, on_behalf_of=str(ada.public_id))
    check_in = bench.row(client_for(bo).post("check-ins", body))
    assert check_in.member == ada
    assert client_for(max).post("check-ins", body).status_code == 403


def test_an_admin_without_another_role_writes_nothing_down(line, di, client_for):
    Membership.objects.filter(pk=di.pk).update(is_member=False)
    assert client_for(di).post("check-ins", bench.tank(line)).status_code == 403


def test_members_see_their_own_and_the_staff_all(line, ada, bo, max, di, outsider, client_for):
    mine = client_for(ada).post("check-ins", bench.tank(line)).json()["id"]
    his = client_for(max).post("check-ins", bench.tank(line)).json()["id"]

    def seen(who, query=""):
        return [each["id"] for each in client_for(who).get(f"check-ins{query}").json()["items"]]

    assert (seen(ada), seen(max), seen(di)) == ([mine], [his], [])
    assert seen(bo) == [his, mine]
    assert seen(bo, f"?member={ada.public_id}") == [mine]
    assert seen(bo, f"?line={line.public_id}&vessel={bath_of(line).public_id}") == [his, mine]
    today = day_of(clock.now(), ada.darkroom.zone)
    assert seen(bo, f"?from={today}&to={today}") == [his, mine]
    assert seen(bo, f"?to={today - timedelta(days=1)}") == []
    assert client_for(max).get(f"check-ins/{mine}").status_code == 404
    assert client_for(outsider).get(f"/api/v1/darkrooms/{ada.darkroom.slug}/check-ins/{mine}").status_code == 404


def test_the_check_ins_through_any_vessel_of_a_line_are_found(staffed, ada, bo, client_for):
    line = bench.line(staffed, bench.developer(staffed), full=True)
    client_for(ada).post("check-ins", bench.tank(line))
    for vessel in (bath_of(line, "fixer_1"), bath_of(line)):
        assert len(client_for(bo).get(f"check-ins?vessel={vessel.public_id}").json()["items"]) == 1
    other = bench.developer(staffed, "300")
    assert client_for(bo).get(f"check-ins?vessel={other.public_id}").json()["items"] == []


def test_a_vessel_never_filled_is_flagged_and_left_alone(staffed, ada, client_for):
    empty = brew.bottle(staffed, "1000")
    line = bench.line(staffed, empty)
    answer = client_for(ada).post("check-ins", bench.tank(line))
    assert bench.codes(answer) == ["vessel.unfilled"]
    assert bench.fresh(empty).contents == 0


# The record holds together


def test_the_ledgers_add_up_to_the_totals_after_all_kinds_of_use(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed), full=True, cans=True)
    client = client_for(ada)
    for body in (
        bench.reuse(line, rolls=2, size="600"),
        bench.reuse(line, size="900", poured_back=bench.quantity("100")),
        bench.reuse(line, size="1000", poured_back=bench.quantity("0")),
        bench.tank(line),
    ):
        bench.row(client.post("check-ins", body))
    for vessel in Vessel.objects.filter(darkroom=staffed):
        rows_in = Movement.objects.filter(target_vessel=vessel).aggregate(v=Sum("volume"), b=Sum("target_basis"))
        rows_out = Movement.objects.filter(source_vessel=vessel).aggregate(v=Sum("volume"), b=Sum("source_basis"))
        charged = Charge.objects.filter(vessel=vessel).aggregate(load=Sum("load"), area=Sum("area"))
        assert vessel.contents == (rows_in["v"] or 0) - (rows_out["v"] or 0)
        assert vessel.basis == (rows_in["b"] or 0) - (rows_out["b"] or 0)
        assert (vessel.load, vessel.area) == (charged["load"] or 0, charged["area"] or 0)
    through = Movement.objects.filter(target=Place.RUN).aggregate(v=Sum("volume"))["v"]
    assert through == Movement.objects.filter(source=Place.RUN).aggregate(v=Sum("volume"))["v"]


def test_a_check_in_through_a_full_line_takes_the_same_queries_whatever_the_history(
    staffed, ada, client_for, django_assert_num_queries
):
    line = bench.line(staffed, bench.developer(staffed, "3000"), full=True, cans=True)
    client, body = client_for(ada), bench.tank(line)
    with django_assert_num_queries(21):  # two of them open and close the savepoint that stands for the transaction
        assert client.post("check-ins", body).status_code == 201
    for _ in range(3):
        bench.row(client.post("check-ins", body))
        bench.row(client.post("check-ins", bench.reuse(line, vessel=str(bench.developer(staffed, "600").public_id))))
    with django_assert_num_queries(21):
        assert client.post("check-ins", body).status_code == 201


def test_a_list_takes_the_same_queries_however_long(line, ada, client_for, django_assert_num_queries):
    client = client_for(ada)
    bench.row(client.post("check-ins", bench.tank(line)))
    with django_assert_num_queries(3):
        client.get("check-ins")
    bench.row(client.post("check-ins", bench.tank(line)))
    with django_assert_num_queries(3):
        client.get("check-ins")


def test_every_flag_has_words_that_say_whom_to_ask():
    named = ruling.TIMELESS | ruling.FOREIGN | ruling.SPOILING | ruling.QUIET
    assert named <= flagtext.TEXTS.keys()
    assert [code for code, text in flagtext.TEXTS.items() if "Ask " not in text and "ask " not in text] == []
    assert flagtext.worded(["nobody.knows"])[0]["text"].endswith("Ask the technician.")
