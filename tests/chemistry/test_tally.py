"""Tallies: sheets charge every tray of their session, cost their member, and are never refused for chemistry."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from uuid import uuid4

import pytest
from django.db.models import Sum

from accounts.models import Darkroom, Entry, Notice
from chemistry.commands import proof, stop, tally, transfer, traysession
from chemistry.commands.tray import Emptying
from chemistry.models import Batch, Charge, CostShare, Movement, Tally, Vessel
from chemistry.science import film
from darkroom_service import clock
from tests import make
from tests.chemistry import bench, brew, trays
from tests.chemistry.bench import ml, quantity
from tests.waste import pail

ROLL = 3600


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
def session(staffed, stock, tray, ada):
    """A session with one tray of two litres of paper developer 1+2."""
    return trays.opened(staffed, tray, stock, who=ada)


@pytest.fixture
def says(ada, client_for):
    """Ada at her phone."""
    return client_for(ada)


def put(speaker, session, count=4, format="paper-8x10", **more):
    body = {"format": format, "count": count, **more}
    return speaker.post(f"tray-sessions/{session.public_id}/tallies", body)


def codes(answer):
    assert answer.status_code == 201, answer.json()
    return [flag["code"] for flag in answer.json()["flags"]]


def told(member):
    return list(Notice.objects.filter(to=member, kind="report-flagged").values_list("text", flat=True))


# What sheets charge


def test_an_evening_of_small_and_large_sheets_is_tallied_in_roll_units(session, tray, says):
    """Six sheets 5x7 in and two of 24x30 cm are 433.2 in2, which are 5.415 roll units of 80 in2: exact arithmetic."""
    assert codes(put(says, session, 6, "paper-5x7")) == []
    assert codes(put(says, session, 2, "paper-24x30cm")) == []
    found = says.get(f"tray-sessions/{session.public_id}").json()
    total = found["total"]
    assert (total["sheets"], total["load"]) == (8, "5.4150")
    assert abs(Decimal(total["area"]["value"]) / Decimal("6.4516") - Decimal("433.2")) < Decimal("0.01")
    assert [(each["format"], each["sheets"], each["load"]) for each in found["by_size"]] == [
        ("paper-24x30cm", 2, "2.7900"), ("paper-5x7", 6, "2.6250"),
    ]  # fmt: skip
    assert make.refreshed(tray).load == total["load_units"] == round(Fraction("5.415") * ROLL)


def test_every_tray_of_the_session_is_charged_and_loses_what_clings_to_the_paper(staffed, stock, says, ada):
    fixer, pans = trays.source(staffed, "fixer_1"), [trays.tray(staffed) for _ in range(2)]
    filled = trays.filling(pans[0], stock), trays.filling(pans[1], fixer, role="fixer_1")
    id = says.post("tray-sessions", trays.body(*filled)).json()["id"]
    made = says.post(f"tray-sessions/{id}/tallies", {"format": "paper-8x10", "count": 5})
    row = Tally.objects.get(public_id=made.json()["id"])
    for pan in pans:
        # 5 sheets 8x10 are 5 roll units; the darkroom's setting is 10 mL of carry-out for each.
        assert (make.refreshed(pan).load, make.refreshed(pan).contents) == (5 * ROLL, ml("1950"))
        assert Charge.objects.get(entry=row.entry_id, vessel=pan).area == row.area
    assert set(Movement.objects.filter(entry=row.entry_id).values_list("source", "target", "volume")) == {
        ("vessel", "carried_out", ml("50"))
    }
    assert list(proof.differences(staffed.pk)) == []


def test_the_answer_says_what_is_left_in_the_trays(session, tray, says):
    answer = put(says, session, 5).json()
    assert (answer["load"], answer["load_units"], answer["area"]) == (
        "5.0000", 5 * ROLL, {"value": "2580.640", "unit": "cm2"},
    )  # fmt: skip
    (row,) = answer["trays"]
    assert (row["load"], row["load_left"], row["contents"]) == ("5.0000", "35.0000", quantity("1950.0"))


def test_a_size_that_no_table_has_counts_by_its_area(session, says):
    answer = put(says, session, 1, "paper-203.2x254mm")  # 8 x 10 in, to the tenth of a millimetre
    assert answer.json()["load"] == "1.0000"


def test_carry_out_is_a_setting(staffed, session, tray, says, di):
    Darkroom.objects.filter(pk=staffed.pk).update(carry_out_paper=0)
    assert codes(put(says, session, 5)) == []
    assert make.refreshed(tray).contents == ml("2000")
    assert list(proof.differences(staffed.pk)) == []


def test_the_member_bears_the_standard_rate(staffed, session, tray, says, ada):
    batch = bench.fresh(tray).batch
    answer = put(says, session, 8)
    # 666.7 of 3800 mL that cost 12.00 made 2 L, good for 40 roll units: 8 of them are 211 x 8 / 40 = 42.2; arithmetic.
    assert answer.json()["cost"] == {"minor": 42, "currency": "EUR"}
    assert CostShare.objects.get(batch=batch, member=ada).minor == 42


def test_ones_own_bottle_as_a_tray_costs_nothing(staffed, stock, ada, says):
    own = brew.bottle(staffed, "3000", material="tray", owner=ada)
    session = trays.opened(staffed, own, stock, who=ada)
    answer = put(says, session, 8)
    assert (codes(answer), answer.json()["cost"]["minor"]) == ([], 0)


# What is flagged


def test_a_tray_does_its_twenty_roll_units_per_litre_and_the_next_sheet_is_flagged_and_told(
    session, tray, says, bo, eli
):
    """Paper developer 1+2 in trays: 20 roll units per litre, so 40 sheets 8x10 in two litres; common practice."""
    assert codes(put(says, session, 40)) == []
    assert make.refreshed(tray).state == "spent"
    assert told(bo) == []
    over = put(says, session, 1, "paper-5x7")
    assert codes(over) == ["capacity.exhausted"]
    assert over.json()["trays"][0]["load_left"] == "-0.4375"
    for each in (bo, eli):
        assert told(each) == [f"Tray session Evening course: {over.json()['flags'][0]['text']}"]


def test_one_sheet_too_many_at_once_is_flagged_though_the_tray_was_fresh(session, says):
    assert codes(put(says, session, 41)) == ["capacity.exhausted"]


def test_a_rule_broken_all_evening_is_told_once(session, says, bo):
    for _ in range(3):
        assert codes(put(says, session, 41)) == ["capacity.exhausted"]
    assert len(told(bo)) == 1


def test_a_tray_that_stood_longer_than_its_hours_is_flagged(session, says):
    """Paper developer 1+2: eight hours in the tray; common practice, no source."""
    until = session.opened_at + timedelta(hours=8)
    with clock.fixed(until):
        assert codes(put(says, session)) == []
    with clock.fixed(until + timedelta(minutes=1)):
        assert codes(put(says, session)) == ["tray.hours_passed"]


def test_film_in_paper_trays_is_flagged_and_charged(staffed, session, tray, says):
    assert codes(put(says, session, 2, "135-36")) == ["vessel.other_material"]
    row = make.refreshed(tray)
    # Film carries 5 mL out with each roll unit, paper 10: the darkroom's settings.
    assert (row.load, row.contents, row.film_or_paper) == (2 * ROLL, ml("1990"), "paper")


def test_a_stopped_tray_in_use_is_flagged(session, tray, says, cy):
    brew.do(stop.stop, cy, tray, reason="a print came out brown")
    assert codes(put(says, session)) == ["vessel.stopped"]


def test_a_sheet_done_before_the_stop_is_not_flagged_for_it(session, tray, ada, cy):
    at = session.opened_at
    with clock.fixed(at + timedelta(hours=1)):
        brew.do(stop.stop, cy, tray, reason="a print came out brown")
    with clock.fixed(at + timedelta(hours=2)):
        assert trays.tallied(session, ada, at=at + timedelta(minutes=30)).flags == []


def test_who_was_never_inducted_is_flagged_not_refused(session, eli, client_for):
    assert codes(put(client_for(eli), session)) == ["person.not_inducted"]


def test_more_paper_than_could_carry_the_tray_away_is_recorded(staffed, session, tray, says):
    answer = put(says, session, 10_000, "paper-20x24")
    assert codes(answer) == ["capacity.exhausted", "vessel.short"]
    # A drop stays, so that the load stays on record too: 6 units for a sheet 20x24 in (480 / 80 in²), exact arithmetic.
    assert (make.refreshed(tray).contents, make.refreshed(tray).load) == (1, 10_000 * 6 * ROLL)
    assert list(proof.differences(staffed.pk)) == []


def test_a_mistyped_count_taken_back_leaves_the_load_of_all_other_sheets(staffed, session, tray, ada):
    for count in (2, 1):
        trays.tallied(session, ada, count)
    typo = trays.tallied(session, ada, 5000)
    trays.tallied(session, ada, 3, "paper-50x60cm")
    for count in (1, 1):
        trays.tallied(session, ada, count)
    brew.do(tally.reverse, ada, typo, reason="5, not 5000")
    # 5 sheets 8x10 in of one unit each, and 3 of 50x60 cm: 3 x 3000 cm² / 516.128 cm²; exact arithmetic.
    assert make.refreshed(tray).load == 5 * ROLL + 3 * round(film.find("paper-50x60cm").load * ROLL)
    assert list(proof.differences(staffed.pk)) == []


# After the end


def test_a_late_tally_from_before_the_end_is_fine_and_changes_no_level(staffed, session, tray, says, ada):
    at = session.opened_at
    batch = bench.fresh(tray).batch
    with clock.fixed(at + timedelta(hours=3)):
        brew.do(traysession.close, ada, session, trays=[Emptying("developer")])
    with clock.fixed(at + timedelta(days=1)):
        answer = put(says, session, 8, occurred_at=(at + timedelta(hours=2)).isoformat())
        assert codes(answer) == []
        assert says.get(f"tray-sessions/{session.public_id}").json()["total"]["load"] == "8.0000"
    row = make.refreshed(tray)
    assert (row.contents, row.load, row.area, row.state) == (0, 0, 0, "emptied")
    shares = Batch.objects.get(pk=batch.pk).cost_shares
    # The darkroom bore it all at the end, 2.11; Ada bears hers now, and the darkroom the rest.
    assert shares.filter(member=ada).aggregate(sum=Sum("minor"))["sum"] == 42
    assert shares.filter(member=None).aggregate(sum=Sum("minor"))["sum"] == 211 - 42
    assert list(proof.differences(staffed.pk)) == []


def test_what_is_told_late_follows_the_liquid_into_the_bottle_it_was_kept_in(staffed, session, tray, ada, says):
    at, bottle = session.opened_at, brew.bottle(staffed, "2000")
    trays.tallied(session, ada, 6)
    with clock.fixed(at + timedelta(hours=3)):
        kept = Emptying("developer", vessel=bottle.public_id, volume=ml("970"))
        brew.do(traysession.close, ada, session, trays=[kept])
    # Half of the 1940 mL was kept, with half of what it had done.
    assert make.refreshed(bottle).load == 3 * ROLL
    with clock.fixed(at + timedelta(days=1)):
        late = put(says, session, 4, occurred_at=(at + timedelta(hours=2)).isoformat())
        assert (make.refreshed(bottle).load, make.refreshed(tray).load) == (5 * ROLL, 0)
        assert list(proof.differences(staffed.pk)) == []
        says.post(f"{late['Location']}/reversal", {"reason": "not ours"})
    assert make.refreshed(bottle).load == 3 * ROLL
    assert list(proof.differences(staffed.pk)) == []


def test_a_bottle_filled_anew_since_is_not_charged_for_late_sheets(staffed, session, tray, ada, bo):
    at, bottle = session.opened_at, brew.bottle(staffed, "2000")
    can = pail.can(bo, "bw-developer", rated="20000")
    with clock.fixed(at + timedelta(hours=3)):
        brew.do(traysession.close, ada, session, trays=[Emptying("developer", vessel=bottle.public_id)])
    with clock.fixed(at + timedelta(hours=4)):
        brew.do(transfer.empty, bo, source=bottle.public_id, container=can.public_id)
        source = trays.source(staffed)
        brew.do(transfer.decant, bo, source=source.public_id, target=bottle.public_id, volume=ml("500"))
    with clock.fixed(at + timedelta(days=1)):
        trays.tallied(session, ada, 4, at=at + timedelta(hours=2))
    assert make.refreshed(bottle).load == 0
    assert list(proof.differences(staffed.pk)) == []


def test_a_second_late_tally_is_as_fine_as_the_first(staffed, session, ada):
    at, bottle = session.opened_at, brew.bottle(staffed, "2000")
    with clock.fixed(at + timedelta(hours=3)):
        brew.do(traysession.close, ada, session, trays=[Emptying("developer", vessel=bottle.public_id)])
    with clock.fixed(at + timedelta(days=1)):
        flags = [trays.tallied(session, ada, 5, at=at + timedelta(hours=1, minutes=each)).flags for each in range(3)]
    assert flags == [[], [], []]
    assert list(proof.differences(staffed.pk)) == []


def test_late_sheets_count_against_what_the_tray_held_then(session, ada, cy):
    at = session.opened_at
    trays.tallied(session, ada, 30)
    with clock.fixed(at + timedelta(hours=3)):
        brew.do(traysession.close, ada, session, trays=[Emptying("developer")])
    with clock.fixed(at + timedelta(days=1)):
        assert trays.tallied(session, ada, 10, at=at + timedelta(hours=2)).flags == []
        assert trays.tallied(session, ada, 1, at=at + timedelta(hours=2)).flags == ["capacity.exhausted"]


def test_sheets_said_to_be_later_than_the_end_are_flagged_counted_and_change_no_tray(
    staffed, session, stock, tray, ada
):
    at = session.opened_at
    with clock.fixed(at + timedelta(hours=3)):
        brew.do(traysession.close, ada, session, trays=[Emptying("developer")])
        trays.opened(staffed, tray, stock, who=ada)
        before = bench.fresh(tray)
    with clock.fixed(at + timedelta(hours=4)):
        row = trays.tallied(session, ada, 8)
    after = bench.fresh(tray)
    assert (row.flags, row.load, row.occurred_at) == (["tray-session.closed"], 8 * ROLL, at + timedelta(hours=4))
    assert (after.contents, after.load) == (before.contents, 0)
    assert list(proof.differences(staffed.pk)) == []


def test_sheets_before_the_trays_were_filled_are_impossible(session, says):
    answer = put(says, session, occurred_at=(session.opened_at - timedelta(minutes=1)).isoformat())
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/occurred_at")
    assert Tally.objects.count() == 0


def test_who_printed_after_a_late_tally_that_overran_the_trays_is_told(session, ada, bo, eli):
    at = session.opened_at
    with clock.fixed(at + timedelta(minutes=30)):
        trays.tallied(session, eli, 1)
    with clock.fixed(at + timedelta(hours=2)):
        trays.tallied(session, bo, 5)
    with clock.fixed(at + timedelta(hours=3)):
        trays.tallied(session, ada, 36, at=at + timedelta(hours=1))
    assert Notice.objects.filter(kind="late-entry").values_list("to", flat=True).get() == bo.pk


# Taking back


def test_a_tally_taken_back_leaves_no_load_no_cost_and_the_liquid_again(staffed, session, tray, says, ada):
    before = bench.fresh(tray)
    made = put(says, session, 41)
    answer = says.post(f"{made['Location']}/reversal", {"reason": "counted twice"})
    assert (codes(answer), make.refreshed(tray).state) == ([], "ready")
    after = bench.fresh(tray)
    assert (after.contents, after.load, after.area) == (before.contents, 0, 0)
    assert ada.cost_shares.aggregate(sum=Sum("minor"))["sum"] == 0
    assert says.get(f"tray-sessions/{session.public_id}").json()["total"]["sheets"] == 0
    assert says.get(made["Location"]).json()["reversal"]["reason"] == "counted twice"
    assert list(proof.differences(staffed.pk)) == []


def test_a_tally_is_taken_back_after_the_end_too(staffed, session, tray, says, ada):
    made = put(says, session, 8)
    brew.do(traysession.close, ada, session, trays=[Emptying("developer")])
    assert codes(says.post(f"{made['Location']}/reversal", {"reason": "another group's"})) == []
    assert (make.refreshed(tray).contents, make.refreshed(tray).load) == (0, 0)
    assert list(proof.differences(staffed.pk)) == []


def test_a_tally_is_taken_back_once_and_by_who_may(session, says, ada, bo, client_for):
    made = put(client_for(bo), session)
    # Ada does not see Bo's tally, so that it is not there for her.
    assert says.post(f"{made['Location']}/reversal", {"reason": "x"}).status_code == 404
    own = put(says, session)
    assert codes(client_for(bo).post(f"{own['Location']}/reversal", {"reason": "x"})) == []
    again = says.post(f"{own['Location']}/reversal", {"reason": "x"})
    assert (again.status_code, again.json()["code"]) == (409, "entry.reversed")
    assert says.post(f"{own['Location']}/reversal", {}).status_code == 400


# Who sees what, and shapes


def test_members_see_their_own_sheets_and_technicians_everybodys(session, says, ada, bo, cy, client_for):
    put(says, session, 3)
    put(client_for(bo), session, 2)
    of_bo = client_for(bo).get(f"tray-sessions/{session.public_id}").json()
    of_ada = says.get(f"tray-sessions/{session.public_id}").json()
    assert {each["member"]: each["sheets"] for each in of_bo["by_member"]} == {
        str(ada.public_id): 3, str(bo.public_id): 2,
    }  # fmt: skip
    assert [each["member"] for each in of_ada["by_member"]] == [str(ada.public_id)]
    assert of_ada["total"] == of_bo["total"]
    path = f"tray-sessions/{session.public_id}/tallies"
    assert [each["count"] for each in client_for(bo).get(path).json()["items"]] == [2, 3]
    assert [each["count"] for each in says.get(path).json()["items"]] == [3]


def test_a_technician_tallies_for_somebody_and_a_member_does_not(session, says, ada, bo, client_for):
    assert put(says, session, on_behalf_of=str(bo.public_id)).status_code == 403
    made = put(client_for(bo), session, on_behalf_of=str(ada.public_id))
    found = says.get(made["Location"]).json()
    assert (found["member"], found["by"]) == (str(ada.public_id), str(bo.public_id))
    assert CostShare.objects.filter(member=ada).count() == 1


def test_a_tally_is_read_as_it_was_written(session, says, ada):
    made = put(says, session, 5)
    found = says.get(made["Location"]).json()
    assert {name: found[name] for name in ("id", "load", "load_units", "area", "cost", "flags")} == {
        name: made.json()[name] for name in ("id", "load", "load_units", "area", "cost", "flags")
    }
    assert (found["format"], found["count"], found["reversal"]) == ("paper-8x10", 5, None)


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"count": 0}, "/count"),
        ({"count": -1}, "/count"),
        ({"count": 10_001}, "/count"),
        ({"count": "4"}, "/count"),
        ({"count": 2.5}, "/count"),
        ({"format": "paper-9x11"}, "/format"),
        ({"format": "paper-5x9999mm"}, "/format"),
        ({"format": ""}, "/format"),
        ({"sheets": 3}, "/sheets"),
    ],
)
def test_what_is_no_number_or_no_size_is_refused_at_its_place(session, says, change, pointer):
    answer = put(says, session, **{"count": 4, "format": "paper-8x10", **change})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == pointer
    assert Tally.objects.count() == 0


def test_an_unknown_size_offers_those_near_it(session, says):
    facts = put(says, session, 1, "paper-8x11").json()["facts"]
    assert "paper-8x10" in facts["offers"]


def test_the_same_key_tallies_once_and_another_body_under_it_is_refused(session, tray, says):
    path, key = f"tray-sessions/{session.public_id}/tallies", uuid4()
    first = says.post(path, {"format": "paper-8x10", "count": 4}, key=key)
    again = says.post(path, {"format": "paper-8x10", "count": 4}, key=key)
    assert (first.content, Tally.objects.count()) == (again.content, 1)
    assert make.refreshed(tray).load == 4 * ROLL
    assert says.post(path, {"format": "paper-8x10", "count": 5}, key=key).status_code == 422


def test_another_darkrooms_session_takes_no_sheets(session, outsider, client_for):
    before = Entry.objects.count()
    assert put(client_for(outsider), session).status_code == 404
    assert Entry.objects.count() == before


def test_a_tally_asks_the_same_number_of_queries_however_much_was_tallied(session, says, django_assert_max_num_queries):
    with django_assert_max_num_queries(60) as asked:
        put(says, session, 1)
    first = len(asked)
    for _ in range(3):
        put(says, session, 1)
    with django_assert_max_num_queries(first):
        put(says, session, 1)


def test_the_tallies_ask_a_constant_number_of_queries(session, says, ada, django_assert_num_queries):
    trays.tallied(session, ada)
    for _ in range(2):
        # Who asks (token with person, membership), session, tallies.
        with django_assert_num_queries(4):
            says.get(f"tray-sessions/{session.public_id}/tallies")
        trays.tallied(session, ada)


def test_every_paper_size_there_is_can_be_tallied(session, ada):
    for code, each in film.FORMATS.items():
        if each.material == "paper":
            assert trays.tallied(session, ada, 1, code).load == round(each.load * ROLL)
    assert Vessel.objects.get(pk=session.trays.get().vessel_id).load == sum(
        Tally.objects.values_list("load", flat=True)
    )
    assert tally.summed([session])
