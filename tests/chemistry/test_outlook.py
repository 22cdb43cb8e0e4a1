"""The outlook of a whole darkroom: what it is read from, what it says, and what it never says."""

from datetime import UTC, date, datetime, timedelta

import pytest

from accounts.acts import Role
from chemistry.commands import outlook, termbreak
from chemistry.commands.outlook import shortages
from darkroom_service import clock
from tests import make
from tests.chemistry import bench, brew

NOW = datetime(2026, 11, 20, 11, tzinfo=UTC)
FIRST = NOW - timedelta(weeks=8)


def look(client, query="", code="mq-borax"):
    answer = client.get(f"outlook{query}")
    assert answer.status_code == 200, answer.json()
    return next(each for each in answer.json()["items"] if each["code"] == code)


def mls(amount):
    return float(amount["value"])


@pytest.fixture
def weekly(room, bo, cy, ada):
    """Ada used 250 mL a week for eight weeks, 500 mL tanks at 1+1, from a drum that now stands over much air.

    A new drum of 3.8 L was released yesterday.
    """
    with clock.fixed(FIRST - timedelta(days=2)) as at:
        bench.inducted(room, ada)
        drum = brew.drum_of(brew.released_batch(room, at=at))
        line = brew.line(room, developer=drum)
    for week in range(8):
        with clock.fixed(FIRST + timedelta(weeks=week, days=2)):
            brew.develop(ada, line, tank="500")
    brew.released_batch(room, at=NOW - timedelta(days=1))
    return line


@pytest.fixture
def now():
    with clock.fixed(NOW) as at:
        yield at


def test_use_is_read_from_the_ledger_week_by_week(weekly, now, client_for, bo):
    found = look(client_for(bo))
    counted = [each for each in found["weeks"] if each["counted"]]
    assert [mls(each["used"]) for each in counted] == [250] * 8
    assert {each["why"] for each in found["weeks"] if not each["counted"]} == {"nothing was used in the room"}
    assert (mls(found["demand"]["mean"]), mls(found["demand"]["spread"])) == (250, 0)
    assert (mls(found["supply"]["released"]), mls(found["supply"]["to_test"])) == (3800, 3800 - 8 * 250)
    assert "2000 / 8 = 250 mL a week" in found["sums"][0]


def test_the_day_it_runs_out_is_the_plain_sum(weekly, now, client_for, bo):
    """3800 mL at 250 mL a week are 15.2 weeks: the 107th day, by hand; it is good for six months."""
    found = look(client_for(bo))
    day = (NOW + timedelta(days=106)).date().isoformat()
    assert {found["released_runs_out"][name] for name in ("early", "middle", "late")} == {day}
    assert found["missing"] == ["What 1800 mL that need a test first are worth: they are not counted."]


def test_a_term_break_ahead_puts_the_day_off_and_one_behind_is_left_out(weekly, now, client_for, bo, cy):
    brew.do(termbreak.create, cy, name="Winter", first_day=date(2026, 12, 21), last_day=date(2027, 1, 3))
    past = FIRST.date() + timedelta(weeks=3)
    brew.do(termbreak.create, cy, name="Autumn", first_day=past, last_day=past + timedelta(days=6))
    found = look(client_for(bo))
    assert found["released_runs_out"]["middle"] == (NOW + timedelta(days=106 + 14)).date().isoformat()
    assert [each["why"] for each in found["weeks"] if not each["counted"]][-1] == "Autumn"
    assert found["demand"]["weeks_counted"] == 7


def test_a_check_in_taken_back_is_not_use_and_waste_is_not_either(weekly, room, ada, client_for, bo):
    with clock.fixed(NOW - timedelta(days=3)):
        twice = brew.develop(ada, weekly, tank="500")
        client_for(ada).post(f"check-ins/{twice.public_id}/reversal", {"reason": "entered twice"})
        drum = weekly.steps.get(role="developer").vessel
        told = {"kind": "spill", "source": str(drum.public_id), "volume": {"value": "300", "unit": "mL"}}
        answer = client_for(bo).post("transfers", told)
        assert answer.status_code == 201, answer.json()
    with clock.fixed(NOW):
        found = look(client_for(bo))
    assert mls(found["weeks"][-1]["used"]) == 250
    assert mls(found["supply"]["to_test"]) == 1500


def test_a_reused_bath_uses_up_roll_units(weekly, room, ada, cy, client_for, bo):
    """One roll poured back in stock that does 10 a litre with longer times is worth 100 mL; formula's own figure."""
    with clock.fixed(NOW - timedelta(days=2)) as at:
        flask = brew.filled(room, ml="1000", at=at)
        told = {
            "line": str(brew.line(room, developer=flask).public_id), "films": [{"format": "135-36", "count": 1}],
            "tank": {"value": "500", "unit": "mL"}, "use": "reuse", "dilution": "stock", "compensate": True,
        }  # fmt: skip
        answer = client_for(ada).post("check-ins", told)
        assert answer.status_code == 201, answer.json()
    with clock.fixed(NOW):
        found = look(client_for(bo))
    assert mls(found["weeks"][-1]["used"]) == 350, "250 as every week and 100 by load"


def test_a_working_bath_and_a_bottle_of_ones_own_are_use_and_a_decant_is_not(room, bo, cy, ada, client_for):
    """By hand: 1000 mL at 1+4 take 200 mL of concentrate; 300 mL into Ada's own bottle left the shared stock."""
    with clock.fixed(NOW - timedelta(days=9)) as at:
        brew.working(room, "rapid-fixer", "1+4", "1000", at=at)
        mixed = brew.filled(room, ml="946", at=at)
    with clock.fixed(NOW - timedelta(days=2)):
        own = brew.bottle(room, "300", owner=ada)
        told = {"kind": "decant", "source": str(mixed.public_id), "target": str(own.public_id)}
        answer = client_for(bo).post("transfers", told | {"volume": {"value": "300", "unit": "mL"}})
        assert answer.status_code == 201, answer.json()
    with clock.fixed(NOW):
        fixer, borax = (look(client_for(bo), code=code) for code in ("rapid-fixer", "mq-borax"))
    assert sum(mls(each["used"]) for each in fixer["weeks"]) == 200
    assert sum(mls(each["used"]) for each in borax["weeks"]) == 300


def test_the_next_packet_is_chosen_by_what_is_really_used(weekly, now, room, client_for, bo):
    """A pack for a litre is dearer by the litre; at 250 mL a week and two months, 3.8 L are half poured away."""
    brew.pack(room, ml="1000", price=500)
    found = look(client_for(bo))["mix_next"]
    litre, packet = sorted(found["sizes"], key=lambda each: mls(each["makes"]))
    weeks = float(found["life_weeks"])
    assert mls(litre["poured_away"]) == 0
    assert abs(mls(packet["used"]) - 250 * weeks) < 15
    assert abs(packet["per_litre_used"]["minor"] - 1200 * 1000 / mls(packet["used"])) < 1
    assert found["sizes"][0] == litre, "5.00 a litre against 12.00 for some 2.2 litres"
    assert mls(found["at"]) == 250


def test_an_order_for_a_term_counts_a_packet_for_what_is_used_of_it(weekly, now, room, client_for, bo):
    """By hand: 40 weeks x 250 mL = 10 L, less 3.8 L released and, of a sealed packet, its life x 250 mL; in packets."""
    brew.pack(room, price=1200)
    whole = look(client_for(bo), "?term=40")
    found, each = whole["order"], float(whole["mix_next"]["life_weeks"]) * 250
    assert 2100 < each < 2250
    assert mls(found["need"]) == 10_000
    assert abs(mls(found["usable"]) - (3800 + each)) < 15
    assert abs(mls(found["amount"]) - (6200 - each)) < 15
    assert (found["packs"], found["cost"]["minor"]) == (2, 2400), "some 4 L of 2.2 L each"
    assert abs(mls(whole["poured_away"]["standing"]) - (3800 - each)) < 15
    assert look(client_for(bo), "?term=4")["order"]["packs"] == 0


def test_what_will_die_unused_is_said(room, bo, cy, ada, client_for):
    with clock.fixed(FIRST) as at:
        bench.inducted(room, ada)
        line = brew.line(room, developer=brew.drum_of(brew.released_batch(room, at=at)))
        brew.develop(ada, line, tank="500")
    with clock.fixed(FIRST + timedelta(weeks=1, days=1)):
        brew.develop(ada, line, tank="500")
    with clock.fixed(FIRST + timedelta(weeks=1, days=6)):
        found = look(client_for(bo))
        drum = line.steps.get(role="developer").vessel
        assert mls(found["demand"]["mean"]) == 250
        days = (brew.Vessel.objects.get(pk=drum.pk).use_by - clock.now().date()).days + 1
    assert abs(mls(found["poured_away"]["standing"]) - (3300 - days * 250 / 7)) < 1


def test_what_is_not_known_is_missing_and_not_nought(room, bo, cy, client_for):
    brew.published(room)
    found = look(client_for(bo))
    assert found["demand"] is None
    assert {found[name] for name in ("released_runs_out", "all_runs_out", "poured_away")} == {None}
    assert any("two weeks of work" in each for each in found["missing"])
    assert any("no pack" in each for each in found["missing"])


def test_what_should_be_ordered_or_mixed_is_told_with_the_sum(weekly, now, room):
    """By hand: 3800 mL fall to 750 (three weeks' wait) on the 86th day, to 250 (one week's) on the 100th."""
    assert shortages(room, NOW) == []
    (found,) = shortages(room, NOW, ahead_days=100)
    assert (found.what, found.formula.code) == (outlook.ORDER, "mq-borax")
    assert found.by == (NOW + timedelta(days=85)).date()
    assert "250 mL are used in an open week" in found.why
    brew.pack(room)
    (found,) = shortages(room, NOW, ahead_days=100)
    assert "order" not in found.why
    assert (found.what, found.by) == (outlook.MIX, (NOW + timedelta(days=99)).date())
    brew.requested_batch(room)
    assert shortages(room, NOW, ahead_days=100) == [], "one is asked for already"


def test_nobody_elses_use_is_counted_and_members_do_not_look(weekly, now, client_for, ada, outsider, bo):
    assert client_for(ada).get("outlook").status_code == 403
    stranger = make.member(outsider, Role.TECHNICIAN)
    assert client_for(stranger).get("outlook").json()["items"] == []


@pytest.mark.parametrize("query", ["weeks=1", "weeks=53", "term=0", "delivery=x", "mixing=9", "term=1.5"])
def test_weeks_are_whole_and_within_bounds(room, bo, client_for, query):
    answer = client_for(bo).get(f"outlook?{query}")
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == f"/{query.split('=')[0]}"


def test_the_queries_do_not_grow(weekly, now, room, client_for, bo, cy, django_assert_max_num_queries):
    client = client_for(bo)
    client.get("outlook")
    with django_assert_max_num_queries(16) as few:
        client.get("outlook")
    for code in ("mq-carbonate", "phenidone-ascorbate", "plain-fixer", "rapid-fixer"):
        brew.pack(room, code)
    brew.filled(room)
    with django_assert_max_num_queries(len(few)):
        client.get("outlook")
