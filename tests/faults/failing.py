"""The n-th statement that goes to the database fails; and what the database holds, to the last row."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.db import OperationalError, connection

from tests.databases import on_postgresql

MESSAGE = "the server went away"


class Statements:
    """Counts the statements that go out, and lets the n-th fail before it reaches the database."""

    def __init__(self, failing: int) -> None:
        self.failing = failing
        self.seen = 0

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        self.seen += 1
        if self.seen == self.failing:
            raise OperationalError(MESSAGE)
        return execute(sql, params, many, context)


@contextmanager
def failing_at(number: int) -> Iterator[Statements]:
    """The statement of that number (from 1) fails; 0: none does."""
    statements = Statements(number)
    with connection.execute_wrapper(statements):
        yield statements


def holdings(leave_out: tuple[str, ...] = ()) -> str:
    """A digest over every row of every table of the shop, in one statement."""
    tables = sorted(
        table
        for model in apps.get_models(include_auto_created=True)
        if (table := model._meta.db_table) not in leave_out and model._meta.managed
    )
    parts = [_rows(table) for table in tables]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts))
        found = sorted((str(table), str(text)) for table, text in cursor.fetchall())
    return hashlib.sha256(repr(found).encode()).hexdigest()


def _rows(table: str) -> str:
    name = connection.ops.quote_name(table)
    if on_postgresql():
        return f"SELECT '{table}', md5(COALESCE(string_agg(t::text, '|' ORDER BY t::text), '')) FROM {name} t"
    columns = " || ',' || ".join(f"quote({connection.ops.quote_name(column)})" for column in _columns(table))
    return f"SELECT '{table}', COALESCE(group_concat(line, '|'), '') FROM (SELECT {columns} AS line FROM {name} ORDER BY 1)"


_known: dict[str, list[str]] = {}


def _columns(table: str) -> list[str]:
    if table not in _known:
        with connection.cursor() as cursor:
            _known[table] = [column.name for column in connection.introspection.get_table_description(cursor, table)]
    return _known[table]
