"""Tank plans: what they answer, what they refuse with which offer, and what they keep."""

from datetime import timedelta
from threading import Barrier, Thread
from uuid import uuid4

import pytest
from django.db import connections
from django.db.models import Sum

from accounts.acts import Role
from chemistry.commands import line as lines
from chemistry.models import CheckIn, Hold, TankPlan, Vessel, VesselState
from darkroom_service import clock
from tests import make
from tests.chemistry import bench, brew


@pytest.fixture
def staffed(room, bo, eli, cy, ada):
    """The room with its people, Ada inducted, and the tanks it has: 300, 473, 600, 946 and 1000 mL."""
    room.tank_sizes = [bench.ml(size) for size in ("300", "473", "600", "946", "1000")]
    room.save(update_fields=["tank_sizes"])
    bench.inducted(room, ada)
    return room


@pytest.fixture
def line(staffed):
    """A line whose developer is a full litre of fresh MQ-borax stock."""
    return bench.line(staffed, bench.developer(staffed))


def plan(client, body):
    answer = client.post("tank-plans", body)
    return answer, answer.json()


def test_a_plan_says_vessel_stock_water_time_and_cost(line, ada, client_for):
    answer, told = plan(client_for(ada), bench.tank(line, size="473", base_time=bench.quantity("10", "min")))
    assert answer.status_code == 201
    assert told["vessel"]["id"] == str(line.steps.get().vessel.public_id)
    # 473 mL at 1+1: exact arithmetic; shown to 10 mL.
    assert (told["stock"]["value"], told["water"]["value"]) == ("236.5", "236.5")
    assert (told["shown"]["stock"]["value"], told["shown"]["water"]["value"]) == ("240", "230")
    assert told["time"]["minutes"] == "10.000"
    assert [factor["name"] for factor in told["time"]["factors"]] == [
        "reuse", "crowding", "temperature", "agitation", "push",
    ]  # fmt: skip
    # 12.00 for 3.8 L, 236.5 mL of it: 74.68 cents, arithmetic.
    assert told["cost"] == {"minor": 75, "currency": "EUR"}
    assert answer.headers["Location"].endswith(f"tank-plans/{told['id']}")


def test_a_plan_is_read_as_it_was_given(line, ada, client_for):
    _, told = plan(client_for(ada), bench.tank(line, size="473"))
    assert client_for(ada).get(f"tank-plans/{told['id']}").json() == told


def test_the_words_of_caution_name_what_the_developer_contains(line, ada, client_for):
    _, told = plan(client_for(ada), bench.tank(line))
    assert any("metol, hydroquinone" in each["hazard"] for each in told["cautions"])
    assert "prevail" in told["cautions"][-1]["precaution"]


# Common practice, no source: 4 rolls per litre of stock, 1+1 two per litre at once, 1+3 one.
@pytest.mark.parametrize(("dilution", "most"), [("stock", 4), ("1+1", 2), ("1+3", 1)])
def test_a_litre_does_so_many_rolls_and_not_one_more(line, ada, client_for, dilution, most):
    client = client_for(ada)
    answer, _ = plan(client, bench.tank(line, rolls=most, size="1000", dilution=dilution))
    assert answer.status_code == 201
    answer, told = plan(client, bench.tank(line, rolls=most + 1, size="1000", dilution=dilution))
    assert answer.status_code == 422
    assert told["code"] == "tank.short_of_stock"


def test_two_rolls_at_once_at_1_plus_1_take_ten_per_cent_longer(line, ada, client_for):
    body = bench.tank(line, rolls=2, size="1000", base_time=bench.quantity("10", "min"))
    _, told = plan(client_for(ada), body)
    assert told["time"]["minutes"] == "11.000"  # common practice, disputed


# Common practice, no source: never less than 235 mL of stock for each roll.
@pytest.mark.parametrize("size", ["80", "100"])
@pytest.mark.parametrize("dilution", ["stock", "1+1", "1+3"])
def test_a_small_rotary_tank_is_refused_whatever_the_dilution(line, ada, client_for, size, dilution):
    answer, told = plan(client_for(ada), bench.tank(line, size=size, dilution=dilution))
    assert answer.status_code == 422
    assert told["code"] == "tank.short_of_stock"
    assert told["facts"]["would_do"]


@pytest.mark.parametrize(("size", "rolls"), [("473", 1), ("946", 2)])
def test_the_usual_tanks_pass_at_1_plus_1(line, ada, client_for, size, rolls):
    assert plan(client_for(ada), bench.tank(line, size=size, rolls=rolls))[0].status_code == 201


def test_a_short_tank_is_refused_with_the_tank_or_dilution_of_this_room_that_works(staffed, ada, client_for):
    # Scenario s04: 300 mL at 1+3 with 100 mL a roll; common practice. The room has a 400 mL tank.
    staffed.tank_sizes = [3000, 4000]
    staffed.save(update_fields=["tank_sizes"])
    line = bench.line(staffed, brew.filled(staffed, "phenidone-ascorbate", "1000"))
    answer, told = plan(client_for(ada), bench.tank(line, size="300", dilution="1+3"))
    assert answer.status_code == 422
    offered = {(each["tank"]["value"], each["dilution"]) for each in told["facts"]["would_do"]}
    assert {("400.0", "1+3"), ("300.0", "1+2")} <= offered
    assert "400 mL at 1+3" in told["detail"]


def test_reuse_of_stock_counts_four_rolls_a_litre_and_ten_with_compensation(line, ada, client_for):
    # Common practice, no source.
    client, vessel = client_for(ada), line.steps.get().vessel
    Vessel.objects.filter(pk=vessel.pk).update(use="reuse", film_or_paper="film", load=4 * 3600)
    answer, told = plan(client, bench.reuse(line, **bench.own(line)))
    assert (answer.status_code, told["code"]) == (422, "capacity.exhausted")
    assert told["facts"]["remains"]["load_left"] == "0.0000"
    body = bench.reuse(line, compensate=True, **bench.own(line), base_time=bench.quantity("10", "min"))
    answer, told = plan(client, body)
    assert answer.status_code == 201
    assert told["time"]["minutes"] == "14.000"  # 10 min x (1 + 0.10 x 4), linear rule
    Vessel.objects.filter(pk=vessel.pk).update(load=9 * 3600)
    assert plan(client, bench.reuse(line, compensate=True, **bench.own(line)))[0].status_code == 201
    assert plan(client, bench.reuse(line, rolls=2, compensate=True, **bench.own(line)))[0].status_code == 422


def test_1_plus_1_is_never_poured_back_to_be_used_in_turn(line, ada, client_for):
    answer, told = plan(client_for(ada), bench.tank(line, use="reuse", dilution="1+1"))
    assert (answer.status_code, told["code"]) == (422, "dilution.other_strength")


def test_1_with_a_colon_is_refused_and_both_meanings_are_offered(line, ada, client_for):
    answer, told = plan(client_for(ada), bench.tank(line, dilution="1:3"))
    assert answer.status_code == 400
    assert told["errors"][0]["pointer"] == "/dilution"
    assert told["facts"]["offers"] == ["1+3", "1+2"]


def test_the_last_of_a_bottle_is_refused_and_another_bottle_is_named(staffed, ada, client_for):
    small, other = bench.developer(staffed, "300"), bench.developer(staffed, "600")
    line = bench.line(staffed, small)
    body = bench.tank(line, rolls=2, size="946", vessel=str(small.public_id))
    answer, told = plan(client_for(ada), body)
    assert (answer.status_code, told["code"]) == (422, "vessel.short")
    assert told["facts"]["remains"]["contents_ml"] == "300.0"
    assert str(other.public_id) in {each["id"] for each in told["facts"]["reasons"][0]["vessels"]}
    assert str(small.public_id) not in {each["vessel"] for each in told["facts"]["would_do"]}


def test_no_tank_is_offered_that_the_rest_of_the_line_would_refuse(staffed, ada, client_for):
    # The room's 1000 mL tank has stock enough at 1+3 for the roll, but the line's 600 mL of fixer do not cover it.
    staffed.tank_sizes = [6000, 10000]
    staffed.save(update_fields=["tank_sizes"])
    fixer = brew.working(staffed, "rapid-fixer", "1+4", "600")
    steps = [("developer", bench.developer(staffed)), ("fixer_1", fixer)]
    told = [{"role": role, "vessel": vessel.public_id, "container": None} for role, vessel in steps]
    line = brew.do(lines.create, brew.staff(staffed), name="short", process="bw", film_or_paper="film", steps=told)
    answer, told = plan(client_for(ada), bench.tank(line, size="600", dilution="1+3"))
    assert (answer.status_code, told["code"]) == (422, "tank.short_of_stock")
    offered = {(each["tank"]["value"], each["dilution"]) for each in told["facts"]["would_do"]}
    assert ("600.0", "1+1") in offered
    assert "1000.0" not in {size for size, _ in offered}


def test_the_service_picks_another_bottle_where_the_lines_own_does_not_do(staffed, ada, client_for):
    small = bench.developer(staffed, "300")
    answer, told = plan(client_for(ada), bench.tank(bench.line(staffed, small), rolls=2, size="946"))
    assert answer.status_code == 201
    assert told["vessel"]["code"] != small.code
    assert told["warnings"][0].startswith(f"Take {told['vessel']['code']}, not {small.code}. This tank draws 473 mL")


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"state": VesselState.STOPPED}, "vessel.stopped"),
        ({"made_at": "2019-01-01T00:00Z", "last_pass_at": None}, "vessel.test_first"),
        ({"use": "reuse"}, "vessel.used"),
        ({"use": "fresh", "film_or_paper": "paper"}, "vessel.other_material"),
        ({"contents": 0, "basis": 0}, "vessel.emptied"),
    ],
)
def test_a_vessel_that_is_not_fit_is_refused_with_the_reason(line, ada, client_for, changes, code):
    Vessel.objects.filter(pk=line.steps.get().vessel_id).update(**changes)
    answer, told = plan(client_for(ada), bench.tank(line, **bench.own(line)))
    assert answer.status_code == 422
    assert code in {each["code"] for each in told["facts"]["reasons"]}
    assert told["facts"]["offers"]


def test_a_batch_not_released_is_waited_for(staffed, ada, client_for):
    drum = brew.drum_of(brew.mixed_batch(staffed))
    answer, told = plan(client_for(ada), bench.tank(bench.line(staffed, drum)))
    assert (answer.status_code, told["code"]) == (422, "vessel.waiting")


@pytest.mark.parametrize(
    ("process", "code"),
    [("backed_motion_picture", "film.backed"), ("colour_negative", "film.other_process")],
)
def test_film_of_another_process_is_refused(line, ada, client_for, process, code):
    # Scenario s13, from memory.
    body = bench.tank(line)
    body["films"][0]["process"] = process
    answer, told = plan(client_for(ada), body)
    assert (answer.status_code, told["code"]) == (422, code)


def test_every_vessel_of_the_line_is_judged_and_charged(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed), full=True)
    _, told = plan(client_for(ada), bench.tank(line))
    assert [each["role"] for each in told["charges"]] == ["developer", "stop", "fixer_1", "washing_aid"]
    developer, stop, *_ = told["charges"]
    assert (developer["comes_back"], developer["load"], developer["leaves"]["value"]) == (False, "0.0000", "250.0")
    assert (stop["comes_back"], stop["load"], stop["leaves"]["value"]) == (True, "1.0000", "5.0")
    fixer = line.steps.get(role="fixer_1").vessel
    Vessel.objects.filter(pk=fixer.pk).update(use="reuse", film_or_paper="film", load=20 * 3600)
    answer, told = plan(client_for(ada), bench.tank(line))
    assert answer.status_code == 422
    assert {each["role"] for each in told["facts"]["reasons"]} == {"fixer_1"}
    assert "Fixer 1" in told["detail"]


@pytest.mark.parametrize(("celsius", "fits"), [("15.9", False), ("16", True), ("27", True), ("27.1", False)])
def test_the_temperature_window_is_kept(line, ada, client_for, celsius, fits):
    # 16-27 °C for MQ: common practice, no source.
    answer, told = plan(client_for(ada), bench.tank(line, temperature=bench.quantity(celsius, "degC")))
    assert (answer.status_code == 201) is fits
    assert fits or told["code"] == "temperature.outside"


def test_what_is_offered_would_do_at_the_same_temperature(line, ada, client_for):
    answer, told = plan(client_for(ada), bench.tank(line, temperature=bench.quantity("40", "degC")))
    # No vessel, tank or dilution changes the window, 16-27 °C (common practice); so that alone is offered.
    assert (answer.status_code, told["facts"]["would_do"]) == (422, [])
    assert told["facts"]["offers"] == ["bring developer and film to 16-27 °C in a water bath"]


def test_an_unknown_push_offers_no_other_vessel(staffed, line, ada, client_for):
    bench.developer(staffed)
    answer, told = plan(client_for(ada), bench.tank(line, push="+9"))
    assert (answer.status_code, told["code"], told["facts"]["would_do"]) == (422, "push.unknown", [])


def test_a_short_time_carries_a_warning(line, ada, client_for):
    body = bench.tank(line, base_time=bench.quantity("6", "min"), temperature=bench.quantity("24", "degC"))
    _, told = plan(client_for(ada), body)
    assert told["time"]["minutes"] == "4.199"  # 6 min x 2.44^(-4/10), rounded to 0.0001 first
    assert "Under 5 min" in told["warnings"][0]


def test_without_room_induction_nobody_plans(line, max, client_for):
    answer, told = plan(client_for(max), bench.tank(line))
    assert (answer.status_code, told["code"]) == (403, "person.not_inducted")
    assert told["facts"]["missing"] == ["room-induction"]


def test_a_minor_never_pours_from_concentrate(staffed, ada, max, client_for):
    # Pupils use ready-made working solutions: common practice, no source.
    bench.inducted(staffed, max)
    line = bench.line(staffed, bench.developer(staffed))
    stop = brew.concentrate(staffed, "stop-acetic", "1000")
    line = brew.line(staffed, developer=line.steps.get().vessel, stop=stop)
    assert plan(client_for(ada), bench.tank(line))[0].status_code == 201
    answer, told = plan(client_for(max), bench.tank(line))
    assert (answer.status_code, told["code"]) == (422, "minor.concentrate")


def test_a_hold_keeps_volume_and_load_on_every_vessel_until_its_time(staffed, ada, cy, client_for):
    line = bench.line(staffed, bench.developer(staffed, "600"), full=True)
    body = bench.tank(line, size="800", **bench.own(line))
    answer, told = plan(client_for(ada), body | {"hold": True})
    assert Hold.objects.filter(plan__public_id=told["id"]).count() == 4
    answer, told = plan(client_for(cy), body)
    assert (answer.status_code, told["code"]) == (422, "vessel.short")
    assert told["facts"]["remains"]["held_ml"] == "400.0"
    with clock.fixed(clock.now() + timedelta(minutes=staffed.hold_minutes)):
        assert plan(client_for(cy), body)[0].status_code == 201


def test_two_members_planning_the_last_rolls_get_exactly_one_hold(line, ada, cy, client_for):
    # Scenario s03: 1.5 roll units left, two members ask for one each.
    Vessel.objects.filter(pk=line.steps.get().vessel_id).update(use="reuse", film_or_paper="film", load=9000)
    body = bench.reuse(line, hold=True, **bench.own(line))
    answers = [plan(client_for(who), body)[0] for who in (ada, cy)]
    assert [answer.status_code for answer in answers] == [201, 422]
    assert answers[1].json()["facts"]["remains"]["load_held"] == "1.0000"


def test_a_plan_given_up_frees_what_it_kept(line, ada, cy, client_for):
    body = bench.tank(line, size="1000", dilution="stock", **bench.own(line))
    _, told = plan(client_for(ada), body | {"hold": True})
    assert plan(client_for(cy), body)[0].status_code == 422
    assert client_for(ada).post(f"tank-plans/{told['id']}/cancellation").status_code == 200
    assert plan(client_for(cy), body)[0].status_code == 201
    again = client_for(ada).post(f"tank-plans/{told['id']}/cancellation")
    assert (again.status_code, again.json()["code"]) == (409, "plan.over")


def test_a_plan_is_seen_by_its_maker_and_by_the_staff_only(line, ada, di, bo, max, client_for):
    _, told = plan(client_for(ada), bench.tank(line))
    assert client_for(bo).get(f"tank-plans/{told['id']}").status_code == 200
    assert client_for(max).get(f"tank-plans/{told['id']}").status_code == 404
    assert client_for(max).post(f"tank-plans/{told['id']}/cancellation").status_code == 404


def test_a_refused_plan_writes_nothing(line, ada, client_for):
    entries = ada.darkroom.entries.count()
    plan(client_for(ada), bench.tank(line, size="100", hold=True))
    assert (ada.darkroom.entries.count(), TankPlan.objects.count(), Hold.objects.count()) == (entries, 0, 0)


def test_the_same_key_gives_the_same_plan_and_another_body_is_refused(line, ada, client_for):
    client, key = client_for(ada), uuid4()
    first = client.post("tank-plans", bench.tank(line), key=key)
    assert client.post("tank-plans", bench.tank(line), key=key).content == first.content
    assert TankPlan.objects.count() == 1
    assert client.post("tank-plans", bench.tank(line, rolls=2), key=key).json()["code"] == "key.reused"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"tank": {"value": "-1", "unit": "mL"}}, "/tank/value"),
        ({"tank": {"value": "0", "unit": "mL"}}, "/tank/value"),
        ({"tank": {"value": "NaN", "unit": "mL"}}, "/tank/value"),
        ({"tank": {"value": "1_000", "unit": "mL"}}, "/tank/value"),
        ({"tank": {"value": "１０", "unit": "mL"}}, "/tank/value"),
        ({"tank": {"value": "1", "unit": "gallon"}}, "/tank/unit"),
        ({"tank": {"value": "473", "unit": "ML"}}, "/tank/unit"),
        ({"tank": {"value": "999999999", "unit": "L"}}, "/tank/value"),
        ({"films": []}, "/films"),
        ({"films": [{"format": "135-37", "count": 1}]}, "/films/0/format"),
        ({"films": [{"format": "135-36", "count": 0}]}, "/films/0/count"),
        ({"films": [{"format": "135-36", "count": 1}, {"format": "paper-8x10"}]}, "/films/1/format"),
        ({"use": "twice"}, "/use"),
        ({"line": str(uuid4())}, "/line"),
        ({"vessel": str(uuid4())}, "/vessel"),
        ({"rolls": 1}, "/rolls"),
    ],
)
def test_what_cannot_be_read_is_refused_where_it_stands(line, ada, client_for, change, pointer):
    answer, told = plan(client_for(ada), bench.tank(line) | change)
    assert answer.status_code == 400
    assert [error["pointer"] for error in told["errors"]] == [pointer]


def test_another_darkrooms_line_and_vessel_are_as_if_they_were_not_there(line, outsider, ada, client_for):
    answer, told = plan(client_for(outsider), bench.tank(line))
    assert (answer.status_code, told["errors"][0]["pointer"]) == (400, "/line")


def test_a_plan_takes_the_same_queries_whatever_stands_on_the_shelf(
    staffed, ada, client_for, django_assert_num_queries
):
    line = bench.line(staffed, bench.developer(staffed), full=True)
    client, body = client_for(ada), bench.tank(line, hold=True)
    with django_assert_num_queries(17):
        assert client.post("tank-plans", body).status_code == 201
    for _ in range(3):
        bench.developer(staffed, "300")
    with django_assert_num_queries(17):
        assert client.post("tank-plans", body).status_code == 201


@pytest.fixture
def shared(committed_room):
    """A committed line with a vessel that has two roll units left, and six inducted members."""
    room, admin = committed_room.darkroom, committed_room
    for role in (Role.TECHNICIAN, Role.TECHNICIAN, Role.INSTRUCTOR):
        make.member(admin, role)
    bath = bench.developer(room)
    Vessel.objects.filter(pk=bath.pk).update(use="reuse", film_or_paper="film", load=2 * 3600)
    members = [make.member(admin) for _ in range(6)]
    bench.inducted(room, *members)
    return bench.line(room, bath), members


def at_once(members, client_for, path, body):
    """Send the same request as several people at the same moment; return the statuses."""
    clients, gate, statuses = [client_for(who) for who in members], Barrier(len(members)), []

    def send(client):
        gate.wait()
        statuses.append(client.post(path, body).status_code)
        connections.close_all()

    threads = [Thread(target=send, args=(client,)) for client in clients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(statuses)


def test_rivals_for_the_last_rolls_get_exactly_what_is_left(shared, client_for):
    line, members = shared
    body = bench.reuse(line, size="300", hold=True, **bench.own(line))
    assert at_once(members, client_for, "tank-plans", body) == [201] * 2 + [422] * 4
    assert Hold.objects.filter(plan__line=line).aggregate(sum=Sum("load"))["sum"] == 2 * 3600


def test_all_who_report_at_once_are_written_down_and_the_overrun_is_flagged(shared, client_for):
    line, members = shared
    body = bench.reuse(line, size="300", **bench.own(line))
    assert at_once(members, client_for, "check-ins", body) == [201] * 6
    flags = [row.flags for row in CheckIn.objects.filter(line=line).order_by("id")]
    assert ["capacity.exhausted" in each for each in flags] == [False] * 2 + [True] * 4
    assert bench.fresh(line.steps.get().vessel).load == 8 * 3600
