"""A measurement that is stopped, or was killed, leaves no database behind."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from api.measure import own
from tests import databases

ROOT = Path(__file__).resolve().parents[3]
#: Makes a database of its own, says its name, and waits to be told to stop.
WAITS = """
import sys
import django
django.setup()
from django.db import connection
from api.measure import own
own.call_command = lambda *words, **more: connection.ensure_connection()  # an empty database is enough
with own.own_database("10") as name:
    print(name, flush=True)
    sys.stdin.read()
"""


def exists(name: str) -> bool:
    if not databases.on_postgresql():
        return Path(name).exists()
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_database WHERE datname = %s", [name])
        return bool(cursor.fetchone()[0])


def make(name: str) -> None:
    """A database, or a file, of a name."""
    if databases.on_postgresql():
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'CREATE DATABASE "{name}"')
    else:
        Path(name).write_bytes(b"")
        Path(name + "-wal").write_bytes(b"")


def named(process: int, machine: str | None = None) -> str:
    """The name that a process of a machine gives to its database."""
    name = own.own_name("10").replace(str(os.getpid()), str(process))
    return name if machine is None else re.sub("[0-9a-f]{8}(?=[-_]10)", machine, name)


def waiting(shop_database) -> subprocess.Popen:
    environment = shop_database.environment() | {"DJANGO_SETTINGS_MODULE": "api.config.settings"}
    words = [sys.executable, "-c", WAITS]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    return subprocess.Popen(words, cwd=ROOT, env=environment, **pipes)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_measurement_that_is_told_to_stop_removes_its_database(shop_database, number):
    with waiting(shop_database) as process:
        name = process.stdout.readline().strip()
        assert exists(name)
        process.send_signal(number)
        process.communicate(timeout=60)
    assert process.returncode not in (0, None)
    assert not exists(name)


def test_the_next_measurement_removes_what_a_killed_one_left(shop_database):
    with waiting(shop_database) as process:
        name = process.stdout.readline().strip()
        process.kill()
        process.communicate(timeout=60)
    assert exists(name)
    assert own.remove_left_behind() == [name]
    assert not exists(name)


def test_what_belongs_to_others_stays(shop_database, monkeypatch, tmp_path):
    monkeypatch.setattr(settings, "DATA_DIR", tmp_path)
    monkeypatch.setattr(own, "call_command", lambda *words, **more: connection.ensure_connection())
    with subprocess.Popen([sys.executable, "-c", ""]) as gone:
        gone.wait(60)
    ours, living, elsewhere = named(gone.pid), named(os.getppid()), named(gone.pid, "00000000")
    foreign = ours.replace("measure", "measured")
    everything = [ours, living, elsewhere, foreign]
    try:
        for name in everything:
            make(name)
        assert own.left_behind() == [ours]
        with own.own_database("10") as name:
            assert [exists(one) for one in (*everything, name)] == [False, True, True, True, True]
        assert not exists(name)
    finally:
        for name in everything:
            own._drop(name)


@pytest.mark.postgres_only
def test_a_database_that_somebody_looks_into_stays(shop_database):
    with subprocess.Popen([sys.executable, "-c", ""]) as gone:
        gone.wait(60)
    name = named(gone.pid)
    make(name)
    try:
        with own.pointed_at(name):
            connection.ensure_connection()
            looking = connection.connection
            connection.connection = None
        try:
            assert own.remove_left_behind() == []
        finally:
            looking.close()
        assert own.remove_left_behind() == [name]
    finally:
        own._drop(name)
