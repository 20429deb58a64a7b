"""Writing many rows of one table with one statement. Private to services: an open transaction is there, nothing is decided.

A kit has a hundred and more holds, movements and ends: made one object each they cost several times what the database takes.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import connection

#: SQLite takes 32,766 parameters in a statement.
PARAMETERS = 32_000


def insert(table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]], *, returning: str = "") -> list[Any]:
    """Insert rows, all their columns given (documents as lists or dicts); the `returning` column of each, in their order."""
    made: list[Any] = []
    size = PARAMETERS // len(columns)
    mark = "(" + ", ".join(["%s"] * len(columns)) + ")"
    for start in range(0, len(rows), size):
        chunk = rows[start : start + size]
        sql = f"INSERT INTO {table} ({', '.join(columns)}) VALUES {', '.join([mark] * len(chunk))}"
        with connection.cursor() as cursor:
            cursor.execute(
                sql + (f" RETURNING {returning}" if returning else ""), [adapted(v) for row in chunk for v in row]
            )
            made += [row[0] for row in cursor.fetchall()] if returning else []
    return made


def adapted(value: Any) -> Any:
    """A value as this database takes it."""
    if value is None or type(value) in (int, str, bool):
        return value
    if isinstance(value, datetime):
        return connection.ops.adapt_datetimefield_value(value)
    if isinstance(value, date):
        return connection.ops.adapt_datefield_value(value)
    if isinstance(value, UUID):
        return value if connection.features.has_native_uuid_field else value.hex
    return json.dumps(value) if isinstance(value, list | dict) else value
