"""A database that only a measurement uses: made beside the configured one, removed at the end, never the shop's own.

Its name says whose it is: what a process left behind that was killed is removed by the next measurement.
"""

from __future__ import annotations

import hashlib
import os
import platform
import re
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import OperationalError, connection

#: What a name of ours looks like: the process, the machine, what is measured.
_OURS = re.compile(r"measure[-_](?P<process>[0-9]{1,10})[-_](?P<machine>[0-9a-f]{8})[-_].+")


def _machine() -> str:
    """This machine: a server or a folder may be shared with others, whose processes are not seen from here."""
    return hashlib.sha256(platform.node().encode()).hexdigest()[:8]


def own_name(what: str) -> str:
    """A name no other process uses: a file in the data folder, or a database on the configured server."""
    if connection.vendor == "postgresql":
        return f"measure_{os.getpid()}_{_machine()}_{what}"
    return str(Path(settings.DATA_DIR) / f"measure-{os.getpid()}-{_machine()}-{what}.sqlite3")


def _lives(process: int) -> bool:
    """Whether a process of this machine runs still; in doubt it does."""
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


def left_behind() -> list[str]:
    """Names of the databases whose process, of this machine, is gone."""
    if connection.vendor == "postgresql":
        with connection._nodb_cursor() as cursor:
            cursor.execute("SELECT datname FROM pg_database WHERE starts_with(datname, 'measure_') ORDER BY datname")
            names = [row[0] for row in cursor.fetchall()]
    else:
        names = sorted(str(path) for path in Path(settings.DATA_DIR).glob("measure-*.sqlite3"))
    found = [(name, _OURS.fullmatch(Path(name).name)) for name in names]
    return [name for name, ours in found if ours and ours["machine"] == _machine() and not _lives(int(ours["process"]))]


def remove_left_behind() -> list[str]:
    """Remove them; one that somebody looks into stays. The names of those that are gone."""
    gone = []
    for name in left_behind():
        try:
            _drop(name, force=False)
        except OperationalError:
            continue
        gone.append(name)
    return gone


@contextmanager
def _told_to_stop() -> Iterator[None]:
    """SIGTERM and SIGHUP end the measurement as an error does, so that it tidies up; SIGINT does so by itself."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, frame: object) -> None:
        raise SystemExit(128 + number)

    before = {number: signal.signal(number, stop) for number in (signal.SIGTERM, signal.SIGHUP)}
    try:
        yield
    finally:
        for number, was in before.items():
            signal.signal(number, was)


def _drop(name: str, *, force: bool = True) -> None:
    if connection.vendor == "postgresql":
        with connection._nodb_cursor() as cursor:
            cursor.execute(
                f"DROP DATABASE IF EXISTS {connection.ops.quote_name(name)}" + (" WITH (FORCE)" if force else "")
            )
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
    """A migrated, empty database; yields its name. It is removed afterwards, also after an error or a signal to stop.

    What earlier processes left behind is removed first.
    """
    remove_left_behind()
    name = own_name(what)
    with _told_to_stop():
        yield from _made(name)


def _made(name: str) -> Iterator[str]:
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
