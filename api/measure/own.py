"""A database that only a measurement uses: made beside the configured one, removed at the end, never the shop's own."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection


def own_name(what: str) -> str:
    """A name no other process uses: a file in the data folder, or a database on the configured server."""
    if connection.vendor == "postgresql":
        return f"measure_{os.getpid()}_{what}"
    return str(Path(settings.DATA_DIR) / f"measure-{os.getpid()}-{what}.sqlite3")


def _drop(name: str) -> None:
    if connection.vendor == "postgresql":
        with connection._nodb_cursor() as cursor:
            cursor.execute(f"DROP DATABASE IF EXISTS {connection.ops.quote_name(name)} WITH (FORCE)")
        return
    for suffix in ("", "-wal", "-shm", "-journal"):
        Path(name + suffix).unlink(missing_ok=True)


@contextmanager
def pointed_at(name: str) -> Iterator[None]:
    """The default connection leads to the named database; afterwards back to the former."""
    connection.close()
    before = connection.settings_dict["NAME"]
    connection.settings_dict["NAME"] = name
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = before


@contextmanager
def own_database(what: str) -> Iterator[str]:
    """A migrated, empty database; yields its name. It is removed afterwards, also after an error."""
    name = own_name(what)
    _drop(name)
    try:
        if connection.vendor == "postgresql":
            with connection._nodb_cursor() as cursor:
                cursor.execute(f"CREATE DATABASE {connection.ops.quote_name(name)}")
        with pointed_at(name):
            call_command("migrate", verbosity=0, interactive=False)
        yield name
    finally:
        _drop(name)
