"""Databases for tests: one migrated template a run, and quick clones of it.

The rows that are written once are guarded by triggers, so a database cannot be emptied again after a test. Ordinary
tests run inside a transaction that is rolled back; every test that needs real commits, threads or processes works on a
clone of its own. SQLite: a file and copies of it, never memory. PostgreSQL: `CREATE DATABASE … TEMPLATE`. Names carry
this process's number, so several runs and several workers of one run share a server in peace.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.core.management import call_command
from django.db import connection, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

_numbers = count(1)
_configured = str(settings.DATABASES["default"]["NAME"])


@dataclass(frozen=True, slots=True)
class ShopDatabase:
    """A database that a test may commit to: its name (a file's path on SQLite) and its address as DATABASE_URL has
    it."""

    name: str
    url: str

    def environment(self) -> dict[str, str]:
        """Environment variables for a program of its own that works on this database, such as one that is to be
        killed."""
        return {
            **os.environ,
            "DATABASE_URL": self.url,
            "DJANGO_SETTINGS_MODULE": "api.config.settings",
            "MATCHBORE_DATA": str(settings.DATA_DIR),
            "MATCHBORE_SECRET_KEY": settings.SECRET_KEY,
            "MATCHBORE_NO_VENV": "1",
        }


def on_postgresql() -> bool:
    """True if this run's database is PostgreSQL."""
    return connection.vendor == "postgresql"


def url_of(name: str) -> str:
    """The address of a database on this run's server, or of an SQLite file."""
    if not on_postgresql():
        return "sqlite:///" + quote(name)
    it = connection.settings_dict
    word = f":{quote(it['PASSWORD'], safe='')}" if it["PASSWORD"] else ""
    port = f":{it['PORT']}" if it["PORT"] else ""
    return f"postgresql://{quote(it['USER'], safe='')}{word}@{it['HOST']}{port}/{quote(name, safe='')}"


def fresh_name(what: str) -> str:
    """A name that no other process and no other test uses: a file in the data folder, or a database on the server."""
    number = next(_numbers)
    if not on_postgresql():
        return str(Path(settings.DATA_DIR) / f"{what}-{number}.sqlite3")
    return f"test_{_configured[:30]}_{os.getpid()}_{what}_{number}"


@contextmanager
def pointed_at(name: str) -> Iterator[None]:
    """The default connection, of this and of every new thread, leads to the named database; afterwards back to the
    former.

    Threads close their own connections (`together` does).
    """
    connection.close()
    before = connection.settings_dict["NAME"]
    connection.settings_dict["NAME"] = name
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = before


_beside: dict[str, BaseDatabaseWrapper] = {}


@contextmanager
def beside(name: str) -> Iterator[None]:
    """The default connection of this thread is another one, to the named database; the former stays open, and so does
    this one afterwards, for the next test.

    Threads and other processes are not led there: for tests that work in one thread and roll back.
    """
    former = connections["default"]
    if name not in _beside:
        other = former.copy()
        other.settings_dict["NAME"] = name
        _beside[name] = other
    connections["default"] = _beside[name]
    try:
        yield
    finally:
        connections["default"] = former


def let_go(name: str) -> None:
    """Close the connection that `beside` keeps open to a database, before it is removed."""
    if (other := _beside.pop(name, None)) is not None:
        other.close()


def _on_server(statement: str) -> None:
    with connection._nodb_cursor() as cursor:
        cursor.execute(statement)


def _quoted(name: str) -> str:
    return str(connection.ops.quote_name(name))


def drop(name: str) -> None:
    """Remove a database, whoever is still connected."""
    if on_postgresql():
        _on_server(f"DROP DATABASE IF EXISTS {_quoted(name)} WITH (FORCE)")
    else:
        for suffix in ("", "-wal", "-shm", "-journal"):
            Path(name + suffix).unlink(missing_ok=True)


@contextmanager
def template() -> Iterator[str]:
    """A database with every migration applied, to which nobody is connected; yields its name."""
    name = fresh_name("template")
    drop(name)
    if on_postgresql():
        _on_server(f"CREATE DATABASE {_quoted(name)}")
    try:
        with pointed_at(name):
            call_command("migrate", verbosity=0, interactive=False)
        if not on_postgresql():
            _into_one_file(name)
        yield name
    finally:
        drop(name)


def _into_one_file(name: str) -> None:
    """Have everything in the file itself and nothing in its log, so that a copy of the file is a copy of the
    database."""
    with closing(sqlite3.connect(name)) as direct:
        busy, _, _ = direct.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        if busy:
            raise RuntimeError(f"somebody still works on the template {name}")


@contextmanager
def filled(template_name: str, what: str, fill: Callable[[], None]) -> Iterator[str]:
    """Another template: a copy of the first, filled once by `fill`, to which nobody is connected; yields its name.

    It may be asked for in the middle of a test: what the default connection has open is left alone.
    """
    with copied(template_name, fresh_name(what)) as name:
        try:
            with beside(name):
                fill()
        finally:
            let_go(name)
        if not on_postgresql():
            _into_one_file(name)
        yield name


@contextmanager
def copied(template_name: str, name: str) -> Iterator[str]:
    """A copy of the template under that name, to which nobody is connected; removed afterwards."""
    drop(name)
    if on_postgresql():
        _on_server(f"CREATE DATABASE {_quoted(name)} TEMPLATE {_quoted(template_name)}")
    else:
        shutil.copyfile(template_name, name)
    try:
        yield name
    finally:
        drop(name)


@contextmanager
def clone(template_name: str, what: str = "clone") -> Iterator[ShopDatabase]:
    """A copy of the template, at which the default connection points; removed afterwards."""
    with copied(template_name, fresh_name(what)) as name, pointed_at(name):
        yield ShopDatabase(name, url_of(name))


@contextmanager
def rolled_back() -> Iterator[None]:
    """What happens inside is undone, and durable services work inside: one example of a property test.

    A plain nested `atomic` would make them refuse; this one is marked as the test case's own, as Django's tests mark
    theirs.
    """
    block = transaction.atomic()
    block._from_testcase = True
    with block:
        yield
        transaction.set_rollback(True)


@contextmanager
def shared(name: str) -> Iterator[None]:
    """A filled template that many tests work on, each in one thread: what it does is held against the foreign keys, as
    a commit would, and undone."""
    with beside(name), rolled_back():
        yield
        connection.check_constraints()


@dataclass(frozen=True, slots=True)
class Ended:
    """How one of several calls ended: its answer, or the error it raised."""

    answer: Any = None
    error: BaseException | None = None


def together(calls: Sequence[Callable[[], Any]], *, timeout_s: float = 60) -> list[Ended]:
    """Run the calls at the same moment, each in a thread with a connection of its own; how each ended, in their order.

    Only on a clone: inside a rolled-back test the other threads would see nothing. RuntimeError if one does not end in
    time.
    """
    ended: list[Ended | None] = [None] * len(calls)
    start = threading.Barrier(len(calls))

    def one(index: int) -> None:
        try:
            connection.ensure_connection()
            start.wait(timeout_s)
            ended[index] = Ended(answer=calls[index]())
        except BaseException as error:
            ended[index] = Ended(error=error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=one, args=(index,), daemon=True) for index in range(len(calls))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout_s)
    whole = [one for one in ended if one is not None]
    if len(whole) < len(calls):
        raise RuntimeError(f"{len(calls) - len(whole)} of {len(calls)} calls did not end within {timeout_s} s")
    return whole
