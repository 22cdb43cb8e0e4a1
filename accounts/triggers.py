"""Append-only tables: UPDATE and DELETE are refused by the database itself, on PostgreSQL and on SQLite.

A model says ``append_only = True`` (never changed) or ``frozen_when = "<SQL over OLD>"`` (unchangeable from then on).
Installed by an idempotent ``post_migrate`` step, since SQLite loses triggers when a table is remade.
"""

from typing import Any

from django.apps import apps
from django.db import connections, transaction

PREFIX = "append_only_"
FUNCTION = """
CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION '% is append-only: write a reversal instead', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
END $$
"""


def guarded() -> dict[str, str]:
    """Return {table: SQL condition over OLD} for every model that asks to be guarded; an empty condition is always."""
    tables = {}
    for model in apps.get_models():
        if getattr(model, "append_only", False):
            tables[model._meta.db_table] = ""
        elif condition := getattr(model, "frozen_when", ""):
            tables[model._meta.db_table] = condition
    return tables


def install(using: str = "default", **_: Any) -> None:
    """Create every missing trigger; harmless when repeated, and when some tables do not exist yet."""
    connection = connections[using]
    present = set(connection.introspection.table_names())
    with transaction.atomic(using=using), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(FUNCTION)
        for table, condition in guarded().items():
            if table in present:
                for statement in _statements(connection.vendor, table, condition):
                    cursor.execute(statement)


def _statements(vendor: str, table: str, condition: str) -> list[str]:
    if vendor == "postgresql":
        return _postgresql(table, condition)
    when = f" WHEN {condition}" if condition else ""
    return [
        f"CREATE TRIGGER IF NOT EXISTS {PREFIX}{table}_{event.lower()} BEFORE {event} ON {table} FOR EACH ROW{when} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only: write a reversal instead'); END"
        for event in ("UPDATE", "DELETE")
    ]


def _postgresql(table: str, condition: str) -> list[str]:
    when = f" WHEN ({condition})" if condition else ""
    rows = [
        f"CREATE OR REPLACE TRIGGER {PREFIX}{table}_{event.lower()} BEFORE {event} ON {table} FOR EACH ROW{when} "
        "EXECUTE FUNCTION refuse_change()"
        for event in ("UPDATE", "DELETE")
    ]
    truncate = (
        f"CREATE OR REPLACE TRIGGER {PREFIX}{table}_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT "
        "EXECUTE FUNCTION refuse_change()"
    )
    return [*rows, truncate]


def missing(using: str = "default") -> list[str]:
    """Return the names of triggers that should stand but do not."""
    connection = connections[using]
    events = ("update", "delete", "truncate") if connection.vendor == "postgresql" else ("update", "delete")
    query = (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
        if connection.vendor == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        standing = {row[0] for row in cursor.fetchall()}
    wanted = [f"{PREFIX}{table}_{event}" for table in guarded() for event in events]
    return sorted(name for name in wanted if name not in standing)
