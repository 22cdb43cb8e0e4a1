"""A bath's whole way: poured away, split, collected, corrected, taken back, the can washed; nothing is ever lost."""

from contextlib import suppress
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chemistry.commands import balance, balancesum, transfer
from chemistry.commands import proof as chemistry_proof
from chemistry.models import Batch, TransferKind
from darkroom_service.refusal import Refusal
from tests import make
from tests.chemistry import bench, brew
from tests.waste import pail
from tests.waste.pail import do
from waste.commands import confirming, container, emptying, fill, pickup
from waste.commands import proof as waste_proof
from waste.commands.confirming import Left
from waste.commands.pickup import Item
from waste.models import Collection, Fill

WHAT = st.sampled_from([
    "empty", "pour", "found", "drain", "undo", "reverse", "collect", "part", "correct", "never", "wash", "reopen",
    "clear", "over",
])  # fmt: skip
ACTS = st.lists(st.tuples(WHAT, st.integers(0, 9), st.integers(1, 1500)), min_size=6, max_size=14)


@pytest.fixture
def staffed(room, bo, eli, cy, ada):
    """The room with its people, Ada inducted."""
    bench.inducted(room, ada)
    return room


class Life:
    """One fixer bath, two cans for it, and all that was done with them; a refusal leaves everything as it was."""

    def __init__(self, room, bo, eli):
        self.bo, self.eli = bo, eli
        self.bath, self.cans = brew.working(room), [pail.can(bo, "fixer"), pail.can(bo, "fixer")]
        self.transfers, self.pours, self.gone = [], [], []

    def act(self, what, nth, volume):
        can = make.refreshed(self.cans[nth % 2])
        step = {
            "empty": self.move, "drain": self.move, "pour": self.pour, "found": self.pour, "undo": self.undo,
            "reverse": self.undo, "collect": self.collect, "part": self.collect, "correct": self.correct,
            "never": self.correct, "over": self.over,
        }.get(what, self.handle)  # fmt: skip
        step(what, nth, volume, can)

    def move(self, what, nth, volume, can):
        kind, given = (TransferKind.EMPTY, {"container": can.public_id})
        if what == "drain":
            kind, given = TransferKind.DRAIN, {"water": volume}
        self.transfers.append(
            do(transfer.create, self.bo, kind=kind, source=self.bath.public_id, volume=volume, **given)
        )

    def pour(self, what, nth, volume, can):
        unknown = {"stream": None, "source": "found"} if what == "found" else {}
        self.pours.append(pail.poured(self.bo, can, f"{volume / 10}", **unknown))

    def over(self, what, nth, volume, can):
        other = self.cans[(nth + 1) % 2].public_id
        row = do(emptying.into, self.bo, can, container=other, volume=volume if nth > 4 else None)
        self.pours.append(row.fill)

    def undo(self, what, nth, volume, can):
        if what == "undo" and self.transfers:
            do(transfer.reverse, self.bo, self.transfers[nth % len(self.transfers)], reason="x")
        elif what == "reverse" and self.pours:
            do(fill.reverse, self.bo, self.pours[nth % len(self.pours)], reason="x")

    def collect(self, what, nth, volume, can):
        part = volume if what == "part" else None
        row = do(pickup.plan, self.bo, way="handover", planned_for=date(2026, 12, 1), destination="The parent school",
                 items=[Item(can.public_id, part, stays=nth > 2)])  # fmt: skip
        try:
            row = do(pickup.prepare, self.bo, row)
            left = [Left(can.public_id, volume)] if nth % 3 == 0 else []
            self.gone.append(do(confirming.confirm, self.eli, row, left=left))
        except Refusal:
            do(pickup.cancel, self.bo, row, reason="x")
            raise

    def correct(self, what, nth, volume, can):
        if self.gone:
            row = self.gone[nth % len(self.gone)]
            of = row.items.get().container.public_id
            told = Left(of, 0) if what == "never" else Left(of, volume, emptied=nth > 4)
            do(confirming.correct, self.eli, row, left=[told], reason="x")

    def handle(self, what, nth, volume, can):
        step = {"wash": container.wash, "reopen": container.reopen, "clear": container.clear}[what]
        do(step, self.bo, can, **({"how": "rinsed"} if what == "wash" else {"reason": "x"}))

    def check(self):
        """Every total follows from its rows, every batch and can balances, and nothing is below nothing."""
        assert [*chemistry_proof.differences(None), *waste_proof.differences(None)] == []
        assert all(each.difference == 0 for each in balance.drawn_up(list(Batch.objects.all())))
        for can in map(make.refreshed, self.cans):
            came = sum(Fill.objects.filter(container=can).values_list("volume", flat=True))
            rows = Collection.objects.filter(container=can).values_list("volume", "found")
            assert came - sum(volume - found for volume, found in rows) == can.contents >= 0
            assert not (can.contents and came and can.state == "open" and not can.held)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=ACTS)
def test_after_every_step_of_any_life_nothing_is_lost(staffed, bo, eli, acts):
    life = Life(staffed, bo, eli)
    for each in acts:
        with suppress(Refusal):
            life.act(*each)
        life.check()


def test_the_account_of_the_room_balances_after_a_long_life(staffed, bo, eli):
    life = Life(staffed, bo, eli)
    for each in (("empty", 0, 1500), ("pour", 0, 300), ("part", 4, 500), ("correct", 0, 450), ("undo", 0, 1),
                 ("drain", 0, 200), ("collect", 4, 1), ("wash", 0, 1), ("never", 1, 1), ("undo", 1, 1)):  # fmt: skip
        with suppress(Refusal):
            life.act(*each)
        life.check()
    assert balancesum.of_time(bo.darkroom).difference == 0
