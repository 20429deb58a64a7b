"""One consistent view for a read of many tables."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection


@contextmanager
def snapshot() -> Iterator[None]:
    """Everything read inside belongs to one moment, and nothing is written.

    PostgreSQL: REPEATABLE READ READ ONLY. SQLite: a plain BEGIN (an IMMEDIATE one would stop every writer). Inside an open
    transaction (tests), or in another snapshot, that one's view serves.
    """
    connection.ensure_connection()
    if connection.in_atomic_block or _reading():
        yield
        return
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        else:
            cursor.execute("BEGIN")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def _reading() -> bool:
    """True if a transaction is open that Django did not open: a snapshot around this one."""
    raw = connection.connection
    if connection.vendor == "postgresql":
        return str(raw.info.transaction_status.name) != "IDLE"
    return bool(raw.in_transaction)
