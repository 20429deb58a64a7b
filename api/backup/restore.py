"""Reading a backup back: every table made and filled anew in one transaction, audited, and only then there for anybody."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import IO, Any

from django.apps import apps
from django.contrib.contenttypes.models import ContentType
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import Error, connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder

from api.backup.tables import ABOUT, FORM, Reader, backed_up, columns, entry
from inventory.models import Act
from inventory.queries.audit import audit

BATCH = 1000


class Damaged(Exception):
    """The file is no backup of this program's form, or not as it was written; the sentence says where."""


class NewerShop(Exception):
    """The database holds acts that the backup does not have; restoring would lose them."""

    def __init__(self, acts: int, newest: str) -> None:
        super().__init__(f"{acts} acts of this shop are not in the backup, the newest of {newest}")


def read_about(path: Path) -> dict[str, Any]:
    """What a backup says about itself. Raises Damaged, OSError."""
    try:
        with zipfile.ZipFile(path) as packed:
            about = json.loads(packed.read(ABOUT))
    except (zipfile.BadZipFile, KeyError, ValueError, EOFError) as error:
        raise Damaged(f"{path.name} is no backup: {error}") from error
    if not isinstance(about, dict) or about.get("form") != FORM:
        raise Damaged(f"{path.name} is not of the form {FORM}")
    return about


def restore(path: Path, say: Callable[[str], None], *, overwrite: bool = False) -> dict[str, Any]:
    """Put a backup in place of what the configured database holds; what the file says about itself is returned.

    All in one transaction: who reads meanwhile sees the shop as it was, who writes waits; if anything fails, nothing has changed.
    Raises NewerShop where the database holds acts that are not in the backup, unless `overwrite` says that they may be lost;
    Damaged where the file is not as it was written, is of other tables than this program's, or its books are wrong.
    """
    about = read_about(path)
    _check_tables(about)
    with zipfile.ZipFile(path) as packed:
        for model in backed_up():
            _check_file(packed, model, about["tables"][model._meta.db_table])
        with _one_transaction():
            if not overwrite:
                _refuse_newer(packed)
            _drop_everything()
            call_command("migrate", verbosity=0, interactive=False)
            ContentType.objects.clear_cache()
            _fill(packed, say)
            connection.check_constraints()
            if findings := audit():
                raise Damaged(f"the books in it are wrong: {findings[0]}")
    ContentType.objects.clear_cache()
    return about


def _check_tables(about: dict[str, Any]) -> None:
    ours = {str(model._meta.db_table): columns(model) for model in backed_up()}
    theirs = {name: table["columns"] for name, table in about["tables"].items()}
    if ours != theirs:
        other = sorted(name for name in ours.keys() | theirs.keys() if ours.get(name) != theirs.get(name))
        raise Damaged(f"it was made by another version of the program: other tables or columns in {', '.join(other)}")


def _check_file(packed: zipfile.ZipFile, model: type[models.Model], said: dict[str, Any]) -> None:
    digest, number = hashlib.sha256(), 0
    try:
        with packed.open(entry(model)) as file:
            while piece := file.read(1 << 20):
                digest.update(piece)
                number += piece.count(b"\n")
    except (zipfile.BadZipFile, KeyError, EOFError, OSError) as error:
        raise Damaged(f"{entry(model)} cannot be read: {error}") from error
    if digest.hexdigest() != said["sha256"]:
        raise Damaged(f"{entry(model)} is not as it was written")
    if number != said["rows"]:
        raise Damaged(f"{entry(model)} has {number} rows, and says it has {said['rows']}")


@contextmanager
def _one_transaction() -> Iterator[None]:
    """SQLite makes tables only while it does not look after references; they are checked before the end."""
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        connection.disable_constraint_checking()
    try:
        with transaction.atomic(durable=True):
            yield
    finally:
        connection.enable_constraint_checking()


def _refuse_newer(packed: zipfile.ZipFile) -> None:
    if Act._meta.db_table not in connection.introspection.table_names():
        return
    if connection.vendor == "postgresql":  # SQLite's transaction keeps writers out from its beginning
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {Act._meta.db_table} IN ACCESS EXCLUSIVE MODE")
    at = columns(Act).index("key")
    with packed.open(entry(Act)) as file:
        known = {json.loads(line)[at] for line in file}
    mine = Act.objects.order_by("recorded_at").values_list("key", "recorded_at")
    lost = [when for key, when in mine.iterator() if str(key) not in known]
    if lost:
        raise NewerShop(len(lost), lost[-1].isoformat(timespec="seconds"))


def _drop_everything() -> None:
    """Every table of the program's models and of its migrations; other tables in the database stay."""
    ours = {str(model._meta.db_table) for model in apps.get_models(include_auto_created=True)}
    ours.add(str(MigrationRecorder.Migration._meta.db_table))
    there = sorted(ours & set(connection.introspection.table_names()))
    quoted = [connection.ops.quote_name(name) for name in there]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql" and quoted:
            cursor.execute(f"DROP TABLE {', '.join(quoted)} CASCADE")
        elif quoted:
            for name in quoted:
                cursor.execute(f"DROP TABLE {name}")


def _fill(packed: zipfile.ZipFile, say: Callable[[str], None]) -> None:
    """What migrating seeded (kinds of rows, permissions, groups) makes room for the same as they were there."""
    every = backed_up()
    with connection.cursor() as cursor:
        for model in every:
            table = connection.ops.quote_name(model._meta.db_table)
            cursor.execute(f"SELECT 1 FROM {table} LIMIT 1")
            if cursor.fetchone():
                cursor.execute(f"DELETE FROM {table}")
    for model in every:
        with packed.open(entry(model)) as file:
            number = _load(model, file)
        say(f"{number:>9} rows of {model._meta.db_table}")
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), every):
            cursor.execute(statement)


def _load(model: type[models.Model], file: IO[bytes]) -> int:
    reader, number = Reader(model), 0
    names = ", ".join(connection.ops.quote_name(str(field.column)) for field in model._meta.concrete_fields)
    marks = ", ".join(["%s"] * len(model._meta.concrete_fields))
    sql = f"INSERT INTO {connection.ops.quote_name(model._meta.db_table)} ({names}) VALUES ({marks})"
    while chunk := list(islice(file, BATCH)):
        try:
            with connection.cursor() as cursor:
                cursor.executemany(sql, [reader.of(line) for line in chunk])
        except (ValueError, TypeError, ValidationError, Error) as error:
            raise Damaged(f"{entry(model)}, one of the rows from {number + 1} on: {error}") from error
        number += len(chunk)
    return number
