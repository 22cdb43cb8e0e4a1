"""The two ledgers under whatever people do: what must be true of them is true after every act."""

from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, event, given, note, settings
from hypothesis import strategies as st

from accounts.acts import Act
from accounts.commands.entry import command
from accounts.models import Entry
from chemistry.commands import cost, level, proof, reversal, transfer
from chemistry.commands.ledger import Book
from chemistry.commands.vessel import batch_then, reread
from chemistry.models import Charge, Movement, Place, Transfer, TransferKind, Vessel
from darkroom_service import clock
from darkroom_service.refusal import Refusal
from tests.chemistry import brew
from tests.waste import pail

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
ROLL = 3600


@command(Act.CHECK_IN_CREATE)
def run(work, *, vessel, drawn, back, load):
    """Draw from a vessel, charge film to it, pour some back; the rest is carried out on the film."""
    row, book = reread(vessel), Book(work, work.occurred_at)
    batch_then(book, row)
    book.draw(row, drawn, comes_back=back > 0)
    book.charge(row, load, load * 3)
    book.give_back(row, back)
    book.run_to(Place.CARRIED_OUT, drawn - back, batch=book.batch_of(row))
    book.close()
    cost.settle_moved_locked(work, book.movements)
    return row


@command(Act.TRANSFER_REVERSE)
def take_back(work, *, entry):
    made, _ = reversal.reverse_locked(work, entry, reason="typed wrongly")
    return made


@dataclass
class Bench:
    """Two batches, an opened concentrate, a waste container, and a clock that only moves on."""

    room: object
    who: object
    drums: list
    can: object
    at: datetime
    flasks: list = field(default_factory=list)

    def do(self, act, *args, ago=0, **given):
        """Do something as the clock moves on by an hour, told late by so many hours; a refusal changes nothing."""
        self.at += timedelta(hours=1)
        before = totals(self.room)
        with clock.fixed(self.at):
            try:
                return brew.do(act, self.who, *args, at=self.at - timedelta(hours=ago) if ago else None, **given)
            except Refusal as no:
                event(no.code)
                assert totals(self.room) == before
                return None


def totals(room):
    shown = ("pk", "contents", "basis", "load", "area", "batch", "state", "version")
    return [
        list(Vessel.objects.filter(darkroom=room).order_by("pk").values_list(*shown)),
        Movement.objects.count(),
        Charge.objects.count(),
        Transfer.objects.count(),
    ]


@pytest.fixture
def bench(room, bo, eli, cy, di):
    with clock.fixed(START - timedelta(days=2)):
        can = pail.can(bo, "bw-developer", rated="100000")
    with clock.fixed(START):
        drums = [brew.drum_of(brew.released_batch(room, "mq-borax", "900000", at=START)) for _ in range(2)]
        drums.append(brew.concentrate(room, "rapid-fixer", "90000", at=START))
    return Bench(room, bo, drums, can, START)


flask, ago = st.integers(0, 3), st.sampled_from([0, 0, 0, 1, 3, 9, 40])
volume = st.integers(1, 12_000)
acts = st.one_of(
    st.tuples(st.just("decant"), flask, flask, volume, ago),
    st.tuples(st.just("fill"), flask, st.integers(0, 2), volume, ago),
    st.tuples(st.just("dilute"), flask, volume, st.sampled_from(["1+1", "1+4"]), ago),
    st.tuples(st.just("develop"), flask, volume, st.integers(0, 100), ago),
    st.tuples(st.just("read"), flask, st.integers(0, 10_400), ago),
    st.tuples(st.just("empty"), flask, st.one_of(st.none(), volume), ago),
    st.tuples(st.just("spill"), flask, volume, ago),
    st.tuples(st.just("undo"), st.integers(0, 30)),
)


def perform(bench, act):
    name, *told = act
    DOING[name](bench, *told)


def decant(bench, where, other, volume, ago):
    source, target = bench.flasks[where], bench.flasks[other]
    bench.do(transfer.decant, source=source.public_id, target=target.public_id, volume=volume, ago=ago)


def fill(bench, where, drum, volume, ago):
    source, target = bench.drums[drum], bench.flasks[where]
    bench.do(transfer.decant, source=source.public_id, target=target.public_id, volume=volume, ago=ago)


def dilute(bench, where, volume, dilution, ago):
    given = {"source": bench.drums[2].public_id, "target": bench.flasks[where].public_id}
    bench.do(transfer.dilute, **given, volume=volume, dilution=dilution, ago=ago)


def develop(bench, where, volume, percent, ago):
    back = volume * percent // 100
    bench.do(run, vessel=bench.flasks[where], drawn=volume, back=back, load=ROLL * percent // 40 + 1, ago=ago)


def read(bench, where, measured, ago):
    bench.do(level.read, bench.flasks[where], measured=measured, ago=ago)


def empty(bench, where, volume, ago):
    given = {"source": bench.flasks[where].public_id, "container": bench.can.public_id}
    bench.do(transfer.empty, **given, volume=volume, ago=ago)


def spill(bench, where, volume, ago):
    given = {"kind": TransferKind.SPILL, "source": bench.flasks[where].public_id}
    bench.do(transfer.create, **given, volume=volume, ago=ago)


def undo(bench, nth):
    entries = Entry.objects.filter(darkroom=bench.room, act__in=REVERSIBLE).order_by("-seq")
    if entry := entries[nth : nth + 1].first():
        bench.do(take_back, entry=entry)


DOING = {each.__name__: each for each in (decant, fill, dilute, develop, read, empty, spill, undo)}
REVERSIBLE = ("transfer:create", "vessel:level", "check-in:create")


def check(bench):
    """Hold the record to what must be true of it, by SQL that shares no code with what wrote it."""
    assert list(proof.differences(bench.room.pk)) == []
    for row in Vessel.objects.filter(darkroom=bench.room):
        assert min(row.contents, row.basis, row.load, row.area) >= 0
        assert row.contents or (row.basis, row.load, row.area) == (0, 0, 0)
        assert (row.state == "emptied") == (row.contents == 0)


@contextmanager
def undone():
    """Take back whatever is done inside, so that each example finds the bench as it was."""
    block = transaction.atomic()
    block._from_testcase = True
    with block:
        yield
        transaction.set_rollback(True)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), phases=set(Phase) - {Phase.explain})
@given(steps=st.lists(acts, min_size=4, max_size=20))
def test_whatever_is_poured_drawn_read_told_late_or_taken_back_the_record_adds_up(bench, steps):
    bench.at = START
    with undone():
        bench.flasks = [brew.bottle(bench.room, "1000") for _ in range(4)]
        for act in (("fill", 0, 0, 9000, 0), ("fill", 1, 1, 9600, 0), ("dilute", 2, 10_000, "1+4", 0)):
            perform(bench, act)
        bench.at += timedelta(days=2)
        for each in steps:
            note(str(each))
            perform(bench, each)
            check(bench)


def filled(bench, ml=10_000):
    """A flask filled from the first drum."""
    vessel = brew.bottle(bench.room, "1000")
    bench.do(transfer.decant, source=bench.drums[0].public_id, target=vessel.public_id, volume=ml)
    return vessel


def film(bench, vessel, rolls, back=5000, ago=0):
    """Draw half a litre, put film through it, pour it back; returns the entry."""
    bench.do(run, vessel=vessel, drawn=5000, back=back, load=ROLL * rolls, ago=ago)
    return Entry.objects.filter(darkroom=bench.room).latest("seq")


def now(vessel):
    return Vessel.objects.get(pk=vessel.pk)


def test_of_film_taken_back_only_what_is_still_in_the_vessel_is_taken_off(bench):
    vessel = filled(bench)
    film(bench, vessel, 1)
    mistaken = film(bench, vessel, 1)
    bench.do(transfer.create, kind=TransferKind.SPILL, source=vessel.public_id, volume=5000)
    assert now(vessel).load == ROLL  # half of two rolls
    bench.do(take_back, entry=mistaken)
    assert now(vessel).load == ROLL // 2  # half of the one that was
    check(bench)


def test_liquid_that_moved_on_takes_its_load_back_with_it_when_the_move_is_taken_back(bench):
    vessel, other = filled(bench), brew.bottle(bench.room, "1000")
    film(bench, vessel, 4)
    bench.do(transfer.decant, source=vessel.public_id, target=other.public_id, volume=5000)
    moved = Entry.objects.filter(darkroom=bench.room).latest("seq")
    assert (now(vessel).load, now(other).load) == (2 * ROLL, 2 * ROLL)
    bench.do(take_back, entry=moved)
    assert (now(vessel).load, now(vessel).basis, now(other).load) == (4 * ROLL, 10_000, 0)
    check(bench)


def test_what_was_poured_on_before_film_went_through_takes_none_of_its_load_however_late_it_is_told(bench):
    vessel, other = filled(bench), brew.bottle(bench.room, "1000")
    bench.at += timedelta(hours=9)
    film(bench, vessel, 4)
    given = {"source": vessel.public_id, "target": other.public_id}
    bench.do(transfer.decant, **given, volume=5000, ago=5)
    assert (now(vessel).load, now(other).load) == (4 * ROLL, 0)
    assert (now(vessel).basis, now(other).basis) == (5000, 5000)
    bench.do(level.read, vessel, measured=5000)
    bench.do(transfer.decant, **given, volume=1000, ago=7)
    assert now(other).load == 0
    check(bench)


def test_a_pour_taken_back_takes_no_more_capacity_than_is_left_of_what_it_brought(bench):
    vessel = filled(bench, 5000)
    poured = Entry.objects.filter(darkroom=bench.room).latest("seq")
    bench.do(transfer.create, kind=TransferKind.SPILL, source=vessel.public_id, volume=4000)
    bench.do(level.read, vessel, measured=6000)
    assert (now(vessel).contents, now(vessel).basis) == (6000, 1000)
    bench.do(take_back, entry=poured)
    # The level was read since, so it stands; nothing says any more what of it is new.
    assert (now(vessel).contents, now(vessel).basis) == (6000, 0)
    check(bench)


def latest(bench):
    return Entry.objects.filter(darkroom=bench.room).latest("seq")


def test_a_pour_out_of_a_bath_that_was_replaced_since_gives_the_new_one_nothing_back(bench):
    vessel, other = filled(bench), brew.bottle(bench.room, "1000")
    film(bench, vessel, 4)
    bench.do(transfer.decant, source=vessel.public_id, target=other.public_id, volume=5000)
    poured = latest(bench)
    bench.do(transfer.empty, source=vessel.public_id, container=bench.can.public_id)
    bench.do(transfer.decant, source=bench.drums[1].public_id, target=vessel.public_id, volume=9000)
    bench.do(take_back, entry=poured)
    assert (now(vessel).load, now(vessel).contents, now(vessel).basis) == (0, 9000, 9000)
    check(bench)


def test_what_was_drawn_goes_back_into_what_the_vessel_holds_by_now(bench):
    vessel = filled(bench, 5000)
    bench.do(run, vessel=vessel, drawn=1000, back=0, load=1)
    drawn = latest(bench)
    bench.do(transfer.decant, source=bench.drums[1].public_id, target=vessel.public_id, volume=2000)
    blended = now(vessel).batch
    bench.do(take_back, entry=drawn)
    assert (now(vessel).contents, now(vessel).batch) == (7000, blended)
    check(bench)


def test_what_was_poured_in_comes_out_of_what_the_vessel_holds_by_now(bench):
    vessel = filled(bench, 5000)
    poured = latest(bench)
    bench.do(transfer.decant, source=bench.drums[1].public_id, target=vessel.public_id, volume=2000)
    blended = now(vessel).batch
    bench.do(take_back, entry=poured)
    assert (now(vessel).contents, now(vessel).batch) == (2000, blended)
    check(bench)


def test_a_pour_told_after_its_vessel_was_filled_anew_adds_nothing_to_the_new_filling(bench):
    source, vessel = filled(bench), filled(bench, 3000)
    film(bench, source, 4)
    bench.at += timedelta(hours=9)
    bench.do(transfer.empty, source=vessel.public_id, container=bench.can.public_id)
    bench.do(transfer.decant, source=bench.drums[1].public_id, target=vessel.public_id, volume=9000)
    bench.do(transfer.decant, source=source.public_id, target=vessel.public_id, volume=5000, ago=6)
    assert (now(vessel).load, now(vessel).contents, now(vessel).basis) == (0, 9000, 9000)
    assert now(source).load == 2 * ROLL
    check(bench)


def test_what_clings_to_film_until_nothing_is_left_takes_the_rest_of_the_load_along(bench):
    vessel = filled(bench, 5000)
    film(bench, vessel, 1, back=0)
    assert (now(vessel).contents, now(vessel).load, now(vessel).basis) == (0, 0, 0)
    check(bench)


def test_film_told_after_its_bath_was_replaced_is_written_and_charges_nothing_to_the_new_one(bench):
    vessel = filled(bench)
    bench.at += timedelta(hours=5)
    bench.do(transfer.empty, source=vessel.public_id, container=bench.can.public_id)
    bench.do(transfer.decant, source=bench.drums[1].public_id, target=vessel.public_id, volume=9000)
    late = film(bench, vessel, 2, ago=5)
    assert (now(vessel).load, now(vessel).contents, now(vessel).basis) == (0, 9000, 9000)
    assert sorted(Charge.objects.filter(entry=late).values_list("load", "moved")) == [
        (-2 * ROLL, True),
        (2 * ROLL, False),
    ]
    assert Movement.objects.filter(entry=late, source_vessel=vessel).first().source_batch_id == bench.drums[0].batch_id
    bench.do(take_back, entry=late)
    assert (now(vessel).load, now(vessel).contents, now(vessel).basis) == (0, 9000, 9000)
    check(bench)


def test_film_told_after_a_reading_counts_but_moves_no_level(bench):
    vessel = filled(bench)
    bench.at += timedelta(hours=5)
    bench.do(level.read, vessel, measured=9700)
    film(bench, vessel, 2, back=4900, ago=3)
    assert (now(vessel).load, now(vessel).contents) == (2 * ROLL, 9700)
    check(bench)


def test_a_bottle_emptied_by_mistake_on_paper_has_its_film_again(bench):
    vessel = filled(bench)
    film(bench, vessel, 3)
    before = now(vessel)
    bench.do(transfer.empty, source=vessel.public_id, container=bench.can.public_id)
    bench.do(take_back, entry=Entry.objects.filter(darkroom=bench.room).latest("seq"))
    after = now(vessel)
    assert (after.load, after.area, after.basis, after.contents) == (
        before.load, before.area, before.basis, before.contents,
    )  # fmt: skip
    check(bench)


def test_a_tank_that_is_not_accounted_for_is_never_written(bench, bo):
    vessel = filled(bench)

    @command(Act.CHECK_IN_CREATE)
    def half_told(work):
        book = Book(work, work.occurred_at)
        book.draw(reread(vessel), 100, comes_back=True)
        book.close()

    before = totals(bench.room)
    with pytest.raises(AssertionError, match="left in the tank"):
        brew.do(half_told, bo)
    assert totals(bench.room) == before
