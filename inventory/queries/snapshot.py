"""One consistent view for a read of many tables."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection


@contextmanager
def snapshot() -> Iterator[None]:
    """Everything read inside belongs to one moment, and nothing is written.

    PostgreSQL: REPEATABLE READ READ ONLY. SQLite: a plain BEGIN (an IMMEDIATE one would stop every writer). Inside an open
    transaction (tests) that transaction's own view serves.
    """
    if connection.in_atomic_block:
        yield
        return
    connection.ensure_connection()
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        else:
            cursor.execute("BEGIN")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")
