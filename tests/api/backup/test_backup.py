"""A backup while the shop goes on, and back: nothing is lost, all or nothing, never over what the backup does not know."""

import hashlib
import json
import stat
import zipfile
from datetime import UTC, datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from api.backup.restore import Damaged, NewerShop, restore
from api.backup.tables import ABOUT, backed_up, entry, rows
from api.backup.write import write_backup
from inventory.models import Act, Movement, Person
from inventory.queries.audit import audit
from inventory.services.receive import ReceiveLine
from tests.api.rest.clients import ShopClient
from tests.api.rest.rebuilds import rebuild, small_shop
from tests.databases import clone, filled, together
from tests.factories.orders import every_row
from tests.factories.stores import received

AT = datetime(2025, 1, 15, 20, tzinfo=UTC)


def quiet(text):
    pass


def everything():
    """Every table but log-ins, row by row, as it would be written."""
    return {model._meta.db_table: list(rows(model)) for model in backed_up()}


@pytest.fixture(scope="module")
def shop(template_database, django_db_blocker, tmp_path_factory):
    """A template of a shop with a job whose parts are at the bench, and a backup of it."""
    path = tmp_path_factory.mktemp("backup") / "a.zip"

    def fill():
        small_shop()
        rebuild().at_bench()
        every_row()
        assert write_backup(path, AT, quiet)["findings"] == []

    with django_db_blocker.unblock(), filled(template_database, "backup", fill) as name:
        yield name, path


@pytest.fixture
def lived_in(shop, django_db_blocker):
    """A clone of that shop."""
    with django_db_blocker.unblock(), clone(shop[0]) as database:
        yield database


@pytest.fixture
def path(shop):
    """The backup of the shop as it is before the test."""
    return shop[1]


def test_everything_comes_back_and_the_shop_goes_on(lived_in, path, template_database):
    before, acts = everything(), Act.objects.count()
    assert sum(map(len, before.values())) > 300
    technician = Person.objects.filter(groups__name="technician").get()
    with clone(template_database):
        assert Act.objects.count() == 0
        about = restore(path, quiet)
        assert (about["made_at"], about["acts"]) == (AT.isoformat(), acts)
        assert everything() == before
        # The guards stand, people come in with the tokens that they had, ids go on.
        with pytest.raises(IntegrityError), transaction.atomic():
            Movement.objects.all()._raw_delete(using="default")
        found = ShopClient(technician).send("jobs/J-1/findings", {"findings": [{"code": "crank-out"}]})
        assert found.status_code == 201, found.content
        received("R1", [ReceiveLine("RING", 5, lot="RING/9")])
        assert audit() == []
        assert Act.objects.count() == acts + 2


def test_it_is_one_moment_and_nobody_waits_for_it(lived_in, tmp_path):
    acts, served = Act.objects.count(), []

    def work_on(text):
        if not served:
            (done,) = together([lambda: received("R1", [ReceiveLine("RING", 5, lot="RING/9")])])
            served.append(done.error)

    about = write_backup(tmp_path / "a.zip", AT, work_on)
    assert served == [None]
    assert (Act.objects.count(), about["acts"]) == (acts + 1, acts)
    with zipfile.ZipFile(tmp_path / "a.zip") as packed:
        assert packed.read(entry(Act)).count(b"\n") == acts


def test_only_its_owner_reads_it_and_nothing_is_overwritten(lived_in, path, tmp_path):
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    was = path.read_bytes()
    with pytest.raises(FileExistsError):
        write_backup(path, AT, quiet)
    assert path.read_bytes() == was

    def full(text):
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space"):
        write_backup(tmp_path / "b.zip", AT, full)
    assert list(tmp_path.iterdir()) == []


def test_acts_that_the_backup_does_not_have_are_not_lost_unless_told(lived_in, path):
    was, said = everything(), StringIO()
    received("R1", [ReceiveLine("RING", 5, lot="RING/9")])
    before = everything()
    with pytest.raises(NewerShop, match="^1 acts of this shop are not in the backup"):
        restore(path, quiet)
    with pytest.raises(CommandError, match="--overwrite loses them") as end:
        call_command("restore", str(path), stdout=said)
    assert (end.value.returncode, everything() == before) == (1, True)
    call_command("restore", str(path), overwrite=True, stdout=said)
    assert said.getvalue().splitlines()[-1].endswith("the books are right")
    assert everything() == was


def rewritten(source, target, change):
    """A backup with some of its files changed: name -> bytes, None leaves it out."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        files = {name: old.read(name) for name in old.namelist()}
        files |= change(files)
        for name, data in files.items():
            if data is not None:
                new.writestr(name, data)


def with_rows(files, name, data):
    """The file of a table changed, and what the backup says about it changed to agree."""
    about = json.loads(files[ABOUT])
    table = about["tables"][name.removeprefix("tables/").removesuffix(".jsonl")]
    table |= {"sha256": hashlib.sha256(data).hexdigest(), "rows": data.count(b"\n")}
    return {name: data, ABOUT: json.dumps(about).encode()}


BALANCES, MOVEMENTS = "tables/inventory_balance.jsonl", "tables/inventory_movement.jsonl"


def other_columns(files):
    about = json.loads(files[ABOUT])
    about["tables"]["inventory_part"]["columns"].remove("name")
    return {ABOUT: json.dumps(about).encode()}


def one_more_row(files):
    about = json.loads(files[ABOUT])
    about["tables"]["inventory_part"]["rows"] += 1
    return {ABOUT: json.dumps(about).encode()}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda files: {ABOUT: None}, "is no backup"),
        (lambda files: {ABOUT: b"[]"}, "is not of the form"),
        (lambda files: {ABOUT: b'{"form": "another"}'}, "is not of the form"),
        (lambda files: {MOVEMENTS: None}, "cannot be read"),
        (lambda files: {MOVEMENTS: files[MOVEMENTS][:-2]}, "is not as it was written"),
        (other_columns, "other tables or columns in inventory_part"),
        (one_more_row, "and says it has"),
        (lambda files: with_rows(files, BALANCES, b"[1,2]\n"), "one of the rows from 1 on"),
        (lambda files: with_rows(files, BALANCES, b""), "the books in it are wrong"),
    ],
)
def test_a_damaged_file_changes_nothing(lived_in, path, tmp_path, change, said):
    rewritten(path, tmp_path / "b.zip", change)
    before = everything()
    with pytest.raises(Damaged, match=said):
        restore(tmp_path / "b.zip", quiet)
    assert everything() == before
    connection.check_constraints()
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":  # references are looked after again
            assert cursor.execute("PRAGMA foreign_keys").fetchone() == (1,)


def test_the_commands_say_what_they_did(lived_in, tmp_path):
    path, said = tmp_path / "a.zip", StringIO()
    call_command("backup", str(path), stdout=said)
    assert "the books in it are right" in said.getvalue()
    for words, why in (
        (["backup", str(path)], "is there already; nothing was written"),
        (["backup", str(tmp_path / "no" / "a.zip")], "cannot be written"),
        (["restore", str(tmp_path / "none.zip")], "Nothing was changed: .*none.zip cannot be read"),
        (["restore", str(tmp_path)], "Nothing was changed"),
    ):
        with pytest.raises(CommandError, match=why) as end:
            call_command(*words, stdout=said)
        assert end.value.returncode == 1


def test_every_table_of_the_shop_is_in_it(lived_in, path):
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor)) - {"django_session", "django_migrations"}
    with zipfile.ZipFile(path) as packed:
        assert set(packed.namelist()) == {f"tables/{table}.jsonl" for table in tables} | {ABOUT}
    assert {entry(model) for model in backed_up()} == {f"tables/{table}.jsonl" for table in tables}
