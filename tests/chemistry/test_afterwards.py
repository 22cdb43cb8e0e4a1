"""What comes afterwards: levels read, entries taken back and reports told late leave no vessel better than it is."""

from datetime import timedelta
from decimal import Decimal

import pytest

from chemistry.commands import bathtest, level, mixing, proof, stop, transfer
from chemistry.models import Batch, Stop
from chemistry.models.stop import StopKind
from darkroom_service import clock
from darkroom_service.refusal import Malformed
from tests.chemistry import bench, brew
from tests.waste import pail


@pytest.fixture
def staffed(room, bo, eli, cy):
    """The room with its technicians and its instructor."""
    return room


def adds_up(room):
    return list(proof.differences(room.pk)) == []


@pytest.mark.parametrize("why", ["failed", "doubt"])
@pytest.mark.parametrize("by", ["level", "transfer"])
def test_a_stop_comes_back_when_an_emptied_vessel_is_read_again(staffed, ada, bo, why, by):
    vessel = brew.filled(staffed)
    if why == "failed":
        brew.do(bathtest.record, bo, vessel=vessel.public_id, matches=False)
    else:
        brew.do(stop.stop, bo, vessel, reason="brown")
    if by == "level":
        brew.do(level.read, ada, vessel, measured=0)
    else:
        can = pail.can(bo, "bw-developer")
        brew.do(transfer.empty, bo, source=vessel.public_id, container=can.public_id)
    assert bench.fresh(vessel).state == "emptied"
    brew.do(level.read, ada, vessel, measured=8900)
    assert bench.fresh(vessel).state == "stopped"


@pytest.mark.parametrize("by", ["level", "transfer"])
def test_a_batch_whose_last_vessel_was_not_empty_after_all_is_open_again(staffed, bo, by):
    drum, can = brew.drum_of(brew.released_batch(staffed)), pail.can(bo, "bw-developer")
    if by == "level":
        brew.do(level.read, bo, drum, measured=0)
    else:
        brew.do(transfer.empty, bo, source=drum.public_id, container=can.public_id)
    assert Batch.objects.get(pk=drum.batch_id).closed_at
    brew.do(level.read, bo, drum, measured=5000)
    assert Batch.objects.get(pk=drum.batch_id).closed_at is None
    assert adds_up(staffed)
    brew.do(level.read, bo, drum, measured=0)
    assert Batch.objects.get(pk=drum.batch_id).closed_at
    assert adds_up(staffed)


@pytest.fixture
def spent(staffed, ada, bo):
    """A litre that two rolls went through, emptied and filled with fresh stock; and the two transfers."""
    vessel, can = brew.filled(staffed, ml="1000"), pail.can(bo, "bw-developer")
    drum = brew.drum_of(brew.released_batch(staffed))
    brew.develop(ada, brew.line(staffed, developer=vessel), 2, use="reuse", dilution="stock", tank="500")
    before = bench.fresh(vessel)
    emptied = brew.do(transfer.empty, bo, source=vessel.public_id, container=can.public_id)
    refilled = brew.do(transfer.decant, bo, source=drum.public_id, target=vessel.public_id, volume=9000)
    return before, emptied, refilled


def test_spent_developer_is_spent_again_when_its_emptying_and_the_next_filling_are_taken_back(staffed, bo, spent):
    before, emptied, refilled = spent
    brew.do(transfer.reverse, bo, refilled, reason="wrong bottle")
    now = bench.fresh(before)
    told = ("batch_id", "use", "film_or_paper", "filled_at")
    assert now.state == "emptied"
    assert [getattr(now, name) for name in told] == [getattr(before, name) for name in told]
    brew.do(transfer.reverse, bo, emptied, reason="wrong bottle")
    now = bench.fresh(before)
    told += ("contents", "basis", "load", "area")
    assert [getattr(now, name) for name in told] == [getattr(before, name) for name in told]
    assert now.state == "stopped"  # what the ledgers do not keep (air, an earlier date) is doubtful
    assert Stop.objects.get(vessel=now).kind == StopKind.RULE_BROKEN
    assert adds_up(staffed)


def test_a_bath_read_after_the_record_had_it_empty_is_stopped(staffed, bo, spent):
    before, _, refilled = spent
    brew.do(transfer.reverse, bo, refilled, reason="wrong bottle")
    brew.do(level.read, bo, before, measured=2900)
    assert bench.fresh(before).state == "stopped"


def test_emptying_so_much_leaves_the_rest_with_its_share_of_the_load(staffed, ada, bo):
    vessel, can = brew.filled(staffed, ml="1000"), pail.can(bo, "bw-developer")
    brew.develop(ada, brew.line(staffed, developer=vessel), 2, use="reuse", dilution="stock", tank="500")
    before = bench.fresh(vessel)
    brew.do(transfer.empty, bo, source=vessel.public_id, container=can.public_id, volume=before.contents // 2)
    now = bench.fresh(vessel)
    assert abs(now.contents - before.contents / 2) <= 1
    assert abs(now.load - before.load / 2) <= 3
    assert now.state == "ready"
    assert adds_up(staffed)


def test_more_than_the_record_has_room_for_is_written_and_flagged(staffed, bo):
    vessel, drum = brew.filled(staffed), brew.drum_of(brew.released_batch(staffed))
    row = brew.do(transfer.decant, bo, source=drum.public_id, target=vessel.public_id, volume=9000)
    assert "vessel.overfull" in row.flags
    assert bench.fresh(vessel).contents == 18460
    with pytest.raises(Malformed) as refused:
        brew.do(transfer.decant, bo, source=drum.public_id, target=vessel.public_id, volume=9934)
    assert (refused.value.code, refused.value.pointer) == ("vessel.impossible_volume", "/volume")


def test_a_mixed_or_found_batch_larger_than_its_vessel_is_impossible(staffed, bo):
    wanted, drum = brew.approved_batch(staffed), brew.bottle(staffed, "3800", material="hdpe")
    brew.signed(staffed, bo)
    started = brew.do(mixing.start, bo, wanted)
    formula = wanted.formula_version.formula.public_id
    for doing, given in ((mixing.finish, (started,)), (mixing.find, ())):
        more = {} if given else {"formula": formula}
        with pytest.raises(Malformed) as refused:
            brew.do(doing, bo, *given, vessel=drum.public_id, made=39901, **more)
        assert (refused.value.code, refused.value.pointer) == ("vessel.impossible_volume", "/made")


def test_mixing_begun_with_water_outside_the_window_is_written_and_flagged(staffed, bo, client_for):
    wanted = brew.approved_batch(staffed)
    brew.signed(staffed, bo)
    cold = brew.do(mixing.start, bo, wanted, water_c=Decimal(20))
    assert (cold.state, cold.flags) == ("mixing", ["batch.water_outside_window"])
    warm = brew.do(mixing.start, bo, brew.approved_batch(staffed), water_c=Decimal(52))
    assert warm.flags == []


def test_more_poured_back_than_the_vessel_could_hold_is_impossible_and_over_the_brim_is_flagged(
    staffed, ada, client_for
):
    line = bench.line(staffed, brew.filled(staffed, ml="1000"))
    answer = client_for(ada).post("check-ins", bench.reuse(line, poured_back=bench.quantity("1051")))
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/poured_back")
    answer = client_for(ada).post("check-ins", bench.reuse(line, poured_back=bench.quantity("900")))
    assert "vessel.overfull" in bench.codes(answer)


def test_a_failed_bath_says_that_it_failed_and_when_and_promises_no_date(staffed, bo, client_for):
    vessel = brew.filled(staffed)
    brew.do(bathtest.record, bo, vessel=vessel.public_id, matches=True)
    brew.do(bathtest.record, bo, vessel=vessel.public_id, matches=False)
    said = client_for(bo).get(f"vessels/{vessel.public_id}").json()
    assert (said["state"], said["use_by"]["day"]) == ("stopped", None)
    (reason,) = said["reasons"]
    assert "failed its test on" in reason
    assert "empty it to waste" in reason
    assert "passed" not in str(said)


def test_a_first_replenished_use_counts_from_an_earlier_pass(staffed, ada, bo):
    old = clock.now() - timedelta(days=40)
    vessel = brew.filled(staffed, ml="1000", at=old)
    brew.do(bathtest.record, bo, vessel=vessel.public_id, matches=True)
    line = brew.line(staffed, developer=vessel)
    brew.develop(ada, line, use="replenished", dilution="stock", tank="500")
    assert bench.fresh(vessel).state == "ready"


def test_what_a_pass_has_seen_since_lets_no_air_in_when_told_late(staffed, ada, bo):
    vessel = brew.filled(staffed, ml="1000", at=clock.now() - timedelta(days=5))
    brew.do(bathtest.record, bo, vessel=vessel.public_id, matches=True)
    line, before = brew.line(staffed, developer=vessel), bench.fresh(vessel)
    brew.do(level.read, bo, vessel, measured=before.contents - 10)
    before = bench.fresh(vessel)
    brew.develop(ada, line, use="reuse", dilution="stock", tank="500", at=before.last_pass_at - timedelta(hours=5))
    now = bench.fresh(vessel)
    assert now.load
    assert (now.oxygen_low, now.oxygen_high) == (before.oxygen_low, before.oxygen_high)


@pytest.mark.parametrize(("doubted", "state"), [(False, "ready"), (True, "stopped")])
def test_a_stop_that_a_broken_rule_brought_ends_when_the_entry_is_taken_back(staffed, ada, bo, doubted, state):
    used, fresh = brew.filled(staffed, ml="1000"), brew.filled(staffed, ml="1000")
    brew.develop(ada, brew.line(staffed, developer=used), use="reuse", dilution="stock", tank="500")
    brew.develop(ada, brew.line(staffed, developer=fresh))
    row = brew.do(transfer.decant, bo, source=used.public_id, target=fresh.public_id, volume=1000)
    assert bench.fresh(fresh).state == "stopped"
    if doubted:
        brew.do(stop.stop, ada, fresh, reason="brown")
    brew.do(transfer.reverse, bo, row, reason="wrong bottle")
    assert bench.fresh(fresh).state == state
