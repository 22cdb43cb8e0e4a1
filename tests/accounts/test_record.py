"""What is once written stays: the database refuses changes, and the chain shows those made behind its back."""

from datetime import UTC, datetime

import pytest
from django.db import DatabaseError, connection, transaction
from django.db.models import CharField

from accounts import triggers
from accounts.acts import Act, Role
from accounts.commands import signoff
from accounts.commands.chain import broken
from accounts.commands.entry import Answer, Work, command
from accounts.models import Entry, Head, Revocation, RoleChange, SignOff, TopicVersion
from tests import make

LEDGERS = [Entry, RoleChange, TopicVersion, SignOff, Revocation]


@pytest.fixture
def history(cy, bo):
    """A record with a row in every append-only table of this app."""
    (row,) = make.signed_off(cy, bo, "ppe")
    signoff.revoke(make.ask(cy, word=lambda done: make.by_id(done.sign_off)), row, reason="left the fan off")
    return bo.darkroom


@pytest.mark.parametrize("model", LEDGERS, ids=lambda model: model.__name__)
@pytest.mark.parametrize("attack", ["update", "delete"])
def test_the_database_itself_refuses_to_change_a_written_row(history, model, attack):
    table, key = model._meta.db_table, model.objects.values_list("pk", flat=True)[0]
    sql = {
        "update": f"UPDATE {table} SET id = id WHERE id = %s",
        "delete": f"DELETE FROM {table} WHERE id = %s",
    }[attack]
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql, [key])
    assert model.objects.filter(pk=key).exists()


@pytest.mark.postgres
@pytest.mark.parametrize("model", LEDGERS, ids=lambda model: model.__name__)
def test_postgresql_refuses_to_truncate_a_ledger(db, model):
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"TRUNCATE {model._meta.db_table} CASCADE")


def test_every_guard_stands_and_a_missing_one_is_named(db):
    assert triggers.missing() == []
    name = f"append_only_{Entry._meta.db_table}_update"
    on = f" ON {Entry._meta.db_table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}{on}")
    assert triggers.missing() == [name]
    triggers.install()
    assert triggers.missing() == []


def test_a_ledger_table_remade_by_a_migration_is_guarded_again(committed):
    """SQLite drops a table's triggers when a migration remakes it; the step after every migrate puts them back."""
    cy = make.member(di := make.room(), Role.INSTRUCTOR)
    (row,) = make.first_holder(di, cy, "ppe")
    wide, wider = SignOff._meta.get_field("evidence"), CharField(max_length=600, blank=True)
    wider.set_attributes_from_name("evidence")
    wider.model = SignOff
    for old, new in ((wide, wider), (wider, wide)):
        with connection.schema_editor() as editor:
            editor.alter_field(SignOff, old, new, strict=True)
        triggers.install()
        with pytest.raises(DatabaseError, match="append-only"):
            SignOff.objects.filter(pk=row.pk).update(evidence="other")


@command(Act.NOTICE_READ)
def nothing(work: Work) -> Work:
    """Write an entry that no row points to."""
    return work


@pytest.fixture
def unguarded(ada):
    """A record of plain entries, for somebody who owns the database and has taken the guards off."""
    for _ in range(4):
        nothing(make.ask(ada, word=lambda work: Answer(201, {"seq": work.seq})))
    on = f" ON {Entry._meta.db_table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        for event in ("update", "delete"):
            cursor.execute(f"DROP TRIGGER append_only_{Entry._meta.db_table}_{event}{on}")
    return ada.darkroom


def last(room):
    return Head.objects.get(darkroom=room).seq


def rehashed(entry):
    """Let an entry's own hash fit what it now says."""
    entry.hash = entry.digest_of_content()
    entry.save(update_fields=["hash"])


def test_an_untouched_record_holds(history, elsewhere):
    assert broken(history) is None
    assert broken(elsewhere) is None


@pytest.mark.parametrize(
    "change",
    [
        {"answer": '{"id":"other"}'},
        {"status": 200},
        {"act": "vessel:stop"},
        {"key": "6f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11"},
        {"digest": "a" * 64},
        {"location": "/elsewhere"},
        {"occurred_at": datetime(2020, 1, 1, tzinfo=UTC)},
        {"recorded_at": datetime(2020, 1, 1, tzinfo=UTC)},
        {"hash": "f" * 64},
        {"previous_hash": "f" * 64},
    ],
    ids=lambda change: next(iter(change)),
)
def test_an_altered_entry_is_found(unguarded, change):
    target = last(unguarded) - 2
    Entry.objects.filter(darkroom=unguarded, seq=target).update(**change)
    assert broken(unguarded) == target


def test_an_act_put_down_to_somebody_else_is_found(unguarded, di):
    Entry.objects.filter(darkroom=unguarded, seq=last(unguarded)).update(by=di)
    assert broken(unguarded) == last(unguarded)


def test_an_altered_entry_with_a_fitting_hash_is_found_at_the_next(unguarded):
    target = last(unguarded) - 2
    Entry.objects.filter(darkroom=unguarded, seq=target).update(answer="{}")
    rehashed(Entry.objects.get(darkroom=unguarded, seq=target))
    assert broken(unguarded) == target + 1


def test_an_altered_last_entry_with_a_fitting_hash_is_found_by_the_head(unguarded):
    Entry.objects.filter(darkroom=unguarded, seq=last(unguarded)).update(answer="{}")
    rehashed(Entry.objects.get(darkroom=unguarded, seq=last(unguarded)))
    assert broken(unguarded) == last(unguarded)


@pytest.mark.parametrize("back", [0, 2])
def test_a_missing_entry_is_found_also_at_the_end(unguarded, back):
    target = last(unguarded) - back
    rows = Entry.objects.filter(darkroom=unguarded, seq=target)
    rows._raw_delete(rows.db)
    assert broken(unguarded) == target


def test_two_entries_exchanged_are_found(unguarded):
    first, second = (Entry.objects.get(darkroom=unguarded, seq=last(unguarded) - back) for back in (2, 1))
    Entry.objects.filter(pk=first.pk).update(seq=10**6)
    Entry.objects.filter(pk=second.pk).update(seq=first.seq)
    Entry.objects.filter(pk=first.pk).update(seq=second.seq)
    assert broken(unguarded) == first.seq


def test_the_chain_is_followed_in_two_queries_however_long(unguarded, django_assert_num_queries):
    with django_assert_num_queries(2):
        assert broken(unguarded) is None
