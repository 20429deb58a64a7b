"""DEVELOPERS.md says what the program has: its generated tables, and the guards as they stand in the database."""

from collections import defaultdict

import pytest
from django.db import connection
from django.db.models import Q

from inventory.models.guards import present
from tests.tidy import developers
from tests.tidy.developers import SECTIONS, Guard, guards, in_words, models, section, written

TEXT = developers.FILE.read_text(encoding="utf-8")
GUARDS = guards()


@pytest.mark.parametrize("name", SECTIONS)
def test_the_table_is_what_the_program_has(name: str) -> None:
    assert section(TEXT, name) == written(name), "write it anew: python -m tests.tidy.developers"
    assert written(name).count("\n") > 3


def test_a_section_that_is_missing_is_an_error() -> None:
    with pytest.raises(ValueError, match="no section"):
        section("# Other words", "codes")


def test_conditions_are_said_in_words() -> None:
    assert in_words(Q(real=False) | (Q(held__gte=0) & Q(amount__lte=1))) == "real = no or (held ≥ 0 and amount ≤ 1)"
    assert in_words(~Q(kind="") & Q(site__isnull=True)) == 'not (kind = "") and site is empty'
    assert in_words(Q(kind__in=["cart", "bench"])) == 'kind is one of "cart", "bench"'


def documented(kind: str) -> list[Guard]:
    return [guard for guard in GUARDS if guard.kind == kind]


def in_database() -> dict[str, dict[str, dict[str, object]]]:
    """table → name → what the database says of the constraint or index."""
    with connection.cursor() as cursor:
        return {
            model._meta.db_table: connection.introspection.get_constraints(cursor, model._meta.db_table)
            for model in models()
        }


@pytest.mark.django_db
def test_every_documented_trigger_stands_in_the_database_and_no_other() -> None:
    names = {guard.name for guard in documented("trigger")}
    if connection.vendor != "postgresql":
        names = {name for name in names if not name.endswith("_no_truncate")}
    assert set(present("default")) == names


@pytest.mark.django_db
def test_every_documented_check_stands_in_the_database_and_no_other() -> None:
    """Beside the named ones there are those that come with a column: not below zero, and valid JSON on SQLite."""
    named, others = set(), defaultdict(int)
    known = {guard.name for guard in documented("check")}
    for table, found in in_database().items():
        for name, facts in found.items():
            if facts["check"] and name in known:
                named.add((table, name))
            elif facts["check"]:
                others[table] += 1
    assert named == {(guard.table, guard.name) for guard in documented("check")}
    by_column = {
        model._meta.db_table: sum(bool(field.db_check(connection)) for field in model._meta.concrete_fields)
        for model in models()
    }
    assert dict(others) == {table: number for table, number in by_column.items() if number}


@pytest.mark.django_db
def test_what_is_documented_to_be_there_once_is_unique_in_the_database_and_nothing_else() -> None:
    expected = {(guard.table, tuple(sorted(guard.columns))) for guard in documented("unique")}
    found = {
        (table, tuple(sorted(facts["columns"])))
        for table, all_of in in_database().items()
        for facts in all_of.values()
        if facts["unique"] and not facts["primary_key"]
    }
    if connection.vendor == "sqlite":  # a key that points elsewhere is told as a unique index there too
        found -= {(guard.table, tuple(sorted(guard.columns))) for guard in documented("one row for each")}
    assert found == expected


@pytest.mark.django_db
def test_one_row_for_each_is_the_primary_key() -> None:
    keys = {
        (table, tuple(facts["columns"]))
        for table, all_of in in_database().items()
        for facts in all_of.values()
        if facts["primary_key"]
    }
    assert {(guard.table, guard.columns) for guard in documented("one row for each")} <= keys


@pytest.mark.django_db
def test_every_partial_index_is_documented_with_its_condition() -> None:
    sql = (
        "SELECT indexname FROM pg_indexes WHERE indexdef LIKE '%% WHERE %%' AND schemaname = current_schema()"
        if connection.vendor == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'index' AND sql LIKE '%% WHERE %%'"
    )
    with connection.cursor() as cursor:
        cursor.execute(sql.replace("%%", "%"))
        found = {row[0] for row in cursor.fetchall()}
    partial = [guard for guard in GUARDS if guard.when and guard.kind in ("unique", "partial index")]
    assert {guard.name for guard in partial} == found


def test_nothing_that_points_at_a_row_lets_that_row_go() -> None:
    """Every reference of our tables refuses the deletion of what it points at; only links of groups and roles go along."""
    from django.db.models import PROTECT

    loose = {
        f"{model._meta.db_table}.{field.column}"
        for model in models()
        if not model._meta.auto_created
        for field in model._meta.concrete_fields
        if field.is_relation and field.remote_field.on_delete is not PROTECT
    }
    assert loose == set()
