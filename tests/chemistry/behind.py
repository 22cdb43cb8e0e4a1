"""Rows changed behind the service's back, as by somebody with a database shell, on a term lived once for a module."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.models import Model, QuerySet

from accounts import triggers
from tests.chemistry import term as terms


@pytest.fixture(scope="module")
def lived_once(django_db_setup: None, django_db_blocker: Any) -> Iterator[terms.Term]:
    """Live a term, once for all tests of a module; each of them runs in a savepoint of its own."""
    with django_db_blocker.unblock():
        around = transaction.atomic()
        around._from_testcase = True  # as the framework's own test case does: commands insist on no transaction around
        with around:
            yield terms.lived()
            transaction.set_rollback(True)


def unguarded(*models: type[Model]) -> None:
    """Take the guard off append-only tables."""
    with connection.cursor() as cursor:
        for table in (model._meta.db_table for model in models):
            for event in ("update", "delete", "truncate"):
                where = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {triggers.PREFIX}{table}_{event}{where}")


def forge(rows: QuerySet[Any], **values: Any) -> None:
    """Change one row that nobody should, its guard being off."""
    unguarded(rows.model)
    assert rows.update(**values) == 1
