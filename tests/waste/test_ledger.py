"""The waste ledger cannot be rewritten, and the contents are always what the pours add up to."""

import pytest
from django.db import DatabaseError, connection, transaction
from django.db.models import F
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests import make
from tests.waste.pail import can, do, kept_apart, poured
from waste.commands import container, fill
from waste.commands.proof import differences
from waste.models import Container, ContainerStep, Fill


def refused(statement, *values):
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement, values)


def test_the_database_refuses_to_change_or_delete_a_pour_or_a_change_of_state(bo):
    poured(bo, can(bo))
    connection.check_constraints()  # a commit does this; PostgreSQL truncates no table with checks outstanding
    for model in (Fill, ContainerStep):
        table = model._meta.db_table
        refused(f"UPDATE {table} SET occurred_at = occurred_at")
        refused(f"DELETE FROM {table}")
        if connection.vendor == "postgresql":
            refused(f"TRUNCATE {table} CASCADE")
    assert (Fill.objects.count(), ContainerStep.objects.count()) == (1, 1)


def test_the_framework_gets_no_further(bo):
    row = poured(bo, can(bo))
    row.volume = 1
    for change in (row.save, row.delete, lambda: Fill.objects.update(volume=F("volume") + 1)):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            change()
    assert make.refreshed(row).volume == 2500


def test_the_database_refuses_a_pour_of_nothing_and_a_reversal_that_adds(bo):
    row = poured(bo, can(bo))
    for volume, reverses in ((0, None), (-5, None), (5, row)):
        with pytest.raises(DatabaseError, match="fill_positive_or_reversal"), transaction.atomic():
            Fill.objects.create(
                container=row.container, volume=volume, origin={}, reverses=reverses, entry=row.entry,
                occurred_at=row.occurred_at,
            )  # fmt: skip


def test_the_proof_is_silent_while_all_agrees(bo, django_assert_num_queries):
    poured(bo, can(bo))
    do(fill.reverse, bo, poured(bo, can(bo)), reason="Twice")
    with django_assert_num_queries(15):  # whatever there is
        assert list(differences()) == []


def test_the_proof_names_the_container_whose_total_is_off(bo, outsider):
    held = can(bo)
    poured(bo, held)
    Container.objects.filter(pk=held.pk).update(contents=2501)
    said = [f"container {held.code}: says 250.1 mL, its fills add up to 250.0 mL"]
    assert list(differences()) == said
    assert list(differences(bo.darkroom_id)) == said
    assert list(differences(outsider.darkroom_id)) == []


def test_the_proof_names_a_reversal_that_does_not_mirror(bo):
    row = poured(bo, can(bo))
    Container.objects.filter(pk=row.container_id).update(held=[])
    bad = Fill.objects.create(
        container=row.container, volume=-1, origin={}, reverses=row, entry=row.entry, occurred_at=row.occurred_at
    )
    Container.objects.filter(pk=row.container_id).update(contents=2499)
    assert list(differences()) == [f"fill {bad.public_id}: does not mirror the fill it takes back"]


ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("pour"), st.integers(0, 2), st.integers(1, 60_000), st.booleans(), st.booleans()),
        st.tuples(st.just("reverse"), st.integers(0, 30)),
        st.tuples(st.just("close"), st.integers(0, 2)),
        st.tuples(st.just("clear"), st.integers(0, 2)),
    ),
    max_size=25,
)


class Model:
    """Three cans in plain Python: what is in each, and which pours still stand."""

    def __init__(self, cans):
        self.cans = cans
        self.contents = [0, 0, 0]
        self.pours = []

    def pour(self, who, index, volume, own_stream, happened):
        held = self.cans[index]
        stream = held.stream if own_stream else kept_apart(who, "stop-bath" if held.stream.code == "fixer" else "fixer")
        given = {"container": held.public_id, "stream": stream.public_id, "volume": volume, "text": "x"}
        standing = make.refreshed(held)
        fits = standing.state == "open" and self.contents[index] + volume <= standing.working_fill
        # Fixer and stop bath must never meet, nor may one go where the other was last: an unwashed can remembers.
        allowed = fits and own_stream and set(standing.held) <= {held.stream.code}
        try:
            row = do(fill.pour, who, happened=happened, **given)
        except Exception:
            assert not happened
            assert not allowed
            return
        assert happened or allowed
        assert (row.flags == []) is allowed
        self.contents[index] += volume
        self.pours.append((row, index, volume))

    def reverse(self, who, nth):
        if self.pours:
            row, index, volume = self.pours.pop(nth % len(self.pours))
            do(fill.reverse, who, row, reason="x")
            self.contents[index] -= volume

    def close(self, who, index):
        if make.refreshed(self.cans[index]).state == "open":
            do(container.close, who, self.cans[index])

    def clear(self, who, index):
        if make.refreshed(self.cans[index]).state == "quarantined":
            do(container.clear, who, self.cans[index], reason="x")


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=ACTS)
def test_after_any_pours_and_reversals_the_contents_are_the_sum_of_the_fills(bo, acts):
    model = Model([can(bo), can(bo), can(bo, "stop-bath")])
    for name, *rest in acts:
        getattr(model, name)(bo, *rest)
        assert [make.refreshed(each).contents for each in model.cans] == model.contents
        assert list(differences(bo.darkroom_id)) == []
