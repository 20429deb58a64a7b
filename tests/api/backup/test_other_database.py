"""A backup crosses from one kind of database to the other and back: every row is equal as values, and the shop goes on.

Only where the run has a PostgreSQL server: an SQLite file can be made anywhere.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from django.conf import settings
from django.db import IntegrityError, connection, models, transaction

from api.backup.restore import restore
from api.backup.tables import TYPED, backed_up, entry
from api.backup.write import write_backup
from inventory.models import Act, Movement, Person
from inventory.queries.audit import audit
from tests.api.backup.elsewhere import AT
from tests.api.rest.clients import ShopClient
from tests.databases import ShopDatabase

pytestmark = pytest.mark.postgres_only


def on_sqlite(folder: Path, name: str, *words: str) -> None:
    """Run the program on a new SQLite file of that name."""
    environment = {
        **os.environ,
        "DATABASE_URL": "sqlite:///" + quote(str(folder / f"{name}.sqlite3")),
        "DJANGO_SETTINGS_MODULE": "api.config.settings",
        "MATCHBORE_DATA": str(folder),
        "MATCHBORE_SECRET_KEY": settings.SECRET_KEY,
        "MATCHBORE_ALLOWED_HOSTS": "testserver",
    }
    program = [sys.executable, "-m", "tests.api.backup.elsewhere", *words]
    done = subprocess.run(program, env=environment, cwd=settings.BASE_DIR, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr


def values(path: Path) -> dict[str, list[list[Any]]]:
    """Every table of a backup with its rows, each cell as the value that it stands for."""
    with zipfile.ZipFile(path) as packed:
        return {
            model._meta.db_table: [read(model, line) for line in packed.read(entry(model)).splitlines()]
            for model in backed_up()
        }


def read(model: type[models.Model], line: bytes) -> list[Any]:
    fields = [getattr(field, "target_field", field) for field in model._meta.concrete_fields]
    cells = json.loads(line.decode("utf-8", "surrogatepass"))
    return [
        field.to_python(cell) if isinstance(field, TYPED) else cell for field, cell in zip(fields, cells, strict=True)
    ]


def test_a_shop_moves_from_sqlite_to_postgresql_and_back(shop_database: ShopDatabase, tmp_path: Path) -> None:
    first, here, back = (tmp_path / f"{name}.zip" for name in ("first", "here", "back"))
    on_sqlite(tmp_path, "first", "lived-in", str(first))
    assert connection.vendor == "postgresql"
    assert Act.objects.count() == 0
    restore(first, len)
    assert write_backup(here, AT, len)["findings"] == []
    written = values(first)
    assert sum(map(len, written.values())) > 300
    assert values(here) == written
    on_sqlite(tmp_path, "back", "again", str(here), str(back))
    assert values(back) == written
    # The guards stand and ids go on where the other database left them.
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.all()._raw_delete(using="default")
    acts = Act.objects.count()
    technician = Person.objects.filter(groups__name="technician").get()
    found = ShopClient(technician).send("jobs/J-1/findings", {"findings": [{"code": "crank-out"}]})
    assert found.status_code == 201, found.content
    assert (Act.objects.count(), audit()) == (acts + 1, [])
