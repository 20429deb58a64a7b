"""The test databases keep their promises: durable work inside rolled-back tests, real commits on clones, guards
everywhere."""

import subprocess
import sys
from datetime import UTC, datetime
from uuid import UUID, uuid4

import pytest
from django.db import DatabaseError, connection, connections, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.models import Person, Refusal
from tests import databases

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


def refuse_once(key: UUID | None = None) -> Refusal:
    """The smallest durable write on real tables: a person and a refusal of theirs."""
    with transaction.atomic(durable=True):
        person, _ = Person.objects.get_or_create(username="somebody")
        return Refusal.objects.create(
            key=key or uuid4(), kind="test", actor=person, recorded_at=NOON, code="not-found", message="none", values={}
        )


def test_durable_transactions_work_inside_a_rolled_back_test(db):
    refuse_once()
    refuse_once()
    assert Refusal.objects.count() == 2


def test_a_durable_transaction_inside_another_block_is_still_refused(db):
    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        refuse_once()
    assert Refusal.objects.count() == 0


def test_nothing_is_left_of_the_tests_before(db):
    assert (Refusal.objects.count(), Person.objects.count()) == (0, 0)


def test_nothing_is_left_of_the_clones_before(shop_database):
    assert (Refusal.objects.count(), Person.objects.count()) == (0, 0)


# The examples share `db` on purpose: undoing each of them is what is shown.
@settings(max_examples=5, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(how_many=st.integers(1, 3))
def test_examples_of_a_property_test_are_undone_one_by_one(db, how_many):
    with databases.rolled_back():
        for _ in range(how_many):
            refuse_once()
        assert Refusal.objects.count() == how_many
    assert Refusal.objects.count() == 0


def test_a_clone_keeps_what_is_committed_and_its_rows_stay_guarded(shop_database):
    refusal = refuse_once()
    connection.close()
    assert Refusal.objects.get().key == refusal.key
    for change in (Refusal.objects.all().delete, lambda: Refusal.objects.update(code="bad-request")):
        with pytest.raises(DatabaseError, match="written once"), transaction.atomic():
            change()
    assert Refusal.objects.get().code == "not-found"


def test_threads_started_together_write_to_the_same_clone(shop_database):
    keys = [uuid4() for _ in range(4)]
    refuse_once()
    ended = databases.together([lambda key=key: refuse_once(key).key for key in keys])
    assert [end.error for end in ended] == [None] * 4
    assert [end.answer for end in ended] == keys
    assert Refusal.objects.count() == 5


def test_the_error_of_one_thread_is_told_beside_the_answers_of_the_others(shop_database):
    def fail() -> None:
        raise ValueError("no")

    ended = databases.together([fail, lambda: 7])
    assert isinstance(ended[0].error, ValueError)
    assert ended[1] == databases.Ended(answer=7)


def test_another_process_works_on_the_clone_by_its_environment(shop_database):
    refuse_once()
    program = (
        "import django; django.setup(); from inventory.models import Refusal;"
        "from django.db import connection; print(connection.settings_dict['NAME'], Refusal.objects.count())"
    )
    told = subprocess.run(
        [sys.executable, "-c", program], env=shop_database.environment(), capture_output=True, text=True, timeout=60
    )
    assert (told.stdout.split(), told.returncode) == ([shop_database.name, "1"], 0), told.stderr


def test_a_clone_is_gone_afterwards_and_the_connection_is_back(template_database, django_db_blocker):
    with django_db_blocker.unblock():
        before = connection.settings_dict["NAME"]
        with databases.clone(template_database) as clone:
            assert connections["default"].settings_dict["NAME"] == clone.name != before
            assert Refusal.objects.count() == 0
        assert connection.settings_dict["NAME"] == before
        with databases.pointed_at(clone.name):
            assert not exists_with_tables()
        databases.drop(clone.name)


def exists_with_tables() -> bool:
    try:
        return "inventory_refusal" in connection.introspection.table_names()
    except DatabaseError:
        return False


@pytest.mark.sqlite_only
def test_the_embedded_database_of_tests_is_a_file_with_the_settings_of_the_shop(db):
    with connection.cursor() as cursor:
        read = {}
        for pragma in ("journal_mode", "synchronous", "recursive_triggers", "foreign_keys", "busy_timeout"):
            read[pragma] = cursor.execute(f"PRAGMA {pragma}").fetchone()[0]
    # 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
    assert read == {
        "journal_mode": "wal",
        "synchronous": 2,
        "recursive_triggers": 1,
        "foreign_keys": 1,
        "busy_timeout": 30_000,
    }
    assert not connection.is_in_memory_db()
    assert connection.transaction_mode == "IMMEDIATE"


@pytest.mark.postgres_only
def test_the_server_of_tests_is_the_configured_one(db):
    assert connection.vendor == "postgresql"
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_database()")
        assert cursor.fetchone()[0] == connection.settings_dict["NAME"]
    assert connection.settings_dict["NAME"].startswith("test_")
