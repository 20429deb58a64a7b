"""Getting behind the guards of a database that a test has for itself, to damage it on purpose."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import connection

from inventory.models.guards import names


def lift_guards(*tables: str) -> None:
    """Drop the triggers, check constraints and partial unique indexes of these tables; foreign keys are no longer looked at."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET session_replication_role = replica")
            for table in tables:
                _drop_checks(table)
        else:
            cursor.execute("PRAGMA foreign_keys = OFF")
            cursor.execute("PRAGMA ignore_check_constraints = ON")
        for table in tables:
            for name in names(table, connection.vendor):
                on = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}{on}")
        if "inventory_balance" in tables:
            cursor.execute("DROP INDEX balance_single_in_one_place")


def _drop_checks(table: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT conname FROM pg_constraint WHERE contype = 'c' AND conrelid = %s::regclass", [table])
        for (name,) in cursor.fetchall():
            cursor.execute(f"ALTER TABLE {table} DROP CONSTRAINT {connection.ops.quote_name(name)}")


def lift_primary_key(table: str) -> None:
    """A table that takes the same row twice."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey")
        else:
            cursor.execute(f"CREATE TABLE copied AS SELECT * FROM {table}")
            cursor.execute(f"DROP TABLE {table}")
            cursor.execute(f"ALTER TABLE copied RENAME TO {table}")


def execute(sql: str, parameters: Sequence[object] = ()) -> int:
    """Run one statement by hand; how many rows it touched."""
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return cursor.rowcount
