"""The net under all tests: the audit after each, tests of one database only where they belong, no emptying of tables."""

from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from uuid import uuid4

import pytest

from inventory.models import Act, Person
from tests import conftest, databases

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


def item(*fixtures: str, **markers: pytest.Mark) -> SimpleNamespace:
    """What the hooks look at of a test."""
    return SimpleNamespace(nodeid="a test", fixturenames=fixtures, get_closest_marker=markers.get)


def after(test: SimpleNamespace) -> None:
    """The hook around a test that passes."""
    around = conftest.pytest_runtest_call(test)
    next(around)
    with pytest.raises(StopIteration):
        next(around)


def damage() -> None:
    """An act without its outcome, which no service leaves behind."""
    actor = Person.objects.create(username="somebody")
    Act.objects.create(key=uuid4(), kind="test", actor=actor, occurred_at=NOON, recorded_at=NOON, request_hash="0" * 64)


@pytest.mark.damages_books
@pytest.mark.parametrize("fixture", ["db", "shop_database"])
def test_a_test_that_leaves_damaged_books_fails(request, fixture):
    request.getfixturevalue(fixture)
    damage()
    around = conftest.pytest_runtest_call(item(fixture))
    next(around)
    with pytest.raises(AssertionError, match="act-has-an-outcome"):
        next(around)


@pytest.mark.damages_books
def test_a_test_that_says_so_may_leave_damaged_books(db):
    damage()
    assert not conftest.keeps_books(item("db", damages_books=pytest.mark.damages_books.mark))
    after(item("db", damages_books=pytest.mark.damages_books.mark))


def test_whole_books_and_tests_without_a_database_pass(db):
    assert [conftest.keeps_books(item(*names)) for names in (("db",), ("shop_database",), ("tmp_path",))] == [
        True,
        True,
        False,
    ]
    after(item("db"))
    after(item("tmp_path"))


def test_an_error_of_the_test_itself_comes_through():
    around = conftest.pytest_runtest_call(item("tmp_path"))
    next(around)
    with pytest.raises(ZeroDivisionError):
        around.throw(ZeroDivisionError())


@pytest.mark.parametrize("name", sorted(conftest.EMPTYING))
def test_fixtures_that_empty_tables_are_refused(name):
    assert conftest.wants_emptying(item("db", name))
    with pytest.raises(pytest.UsageError, match="shop_database"):
        conftest.pytest_collection_modifyitems(SimpleNamespace(), [item("db", name)])


def test_the_marker_that_empties_tables_is_refused_and_the_plain_one_is_not():
    assert conftest.wants_emptying(item(django_db=pytest.mark.django_db(transaction=True).mark))
    assert not conftest.wants_emptying(item(django_db=pytest.mark.django_db.mark))


@pytest.mark.parametrize("postgresql", [True, False])
@pytest.mark.parametrize("whole", [True, False])
def test_pure_rules_are_left_to_the_other_database_where_all_is_run(monkeypatch, postgresql, whole):
    monkeypatch.setattr(databases, "on_postgresql", lambda: postgresql)
    hook = SimpleNamespace(pytest_deselected=lambda items: None)
    pure = item()
    pure.nodeid = "tests/kits/domain/test_a.py::test_b"
    items = [pure]
    named = str(Path(conftest.__file__).parent) + ("" if whole else "/kits")
    conftest.pytest_collection_modifyitems(SimpleNamespace(hook=hook, args=[named]), items)
    assert items == ([] if postgresql and whole else [pure])


@pytest.mark.parametrize("postgresql", [True, False])
def test_tests_of_the_other_database_are_deselected(monkeypatch, postgresql):
    monkeypatch.setattr(databases, "on_postgresql", lambda: postgresql)
    deselected: list[SimpleNamespace] = []
    hook = SimpleNamespace(pytest_deselected=lambda items: deselected.extend(items))
    both, theirs, ours = item(), item(postgres_only=object()), item(sqlite_only=object())
    items = [both, theirs, ours]
    conftest.pytest_collection_modifyitems(SimpleNamespace(hook=hook, args=["tests"]), items)
    assert (items, deselected) == (([both, theirs], [ours]) if postgresql else ([both, ours], [theirs]))


@pytest.mark.parametrize(
    ("nodeid", "fixtures", "alone"),
    [
        ("tests/kits/domain/test_a.py::test_b", (), True),
        ("tests/kits/domain/test_a.py::test_b", ("db",), False),
        ("tests/tidy/test_a.py::test_b", ("shop_database",), False),
        ("tests/kits/services/test_a.py::test_b", (), False),
    ],
)
def test_pure_rules_need_no_database(nodeid, fixtures, alone):
    test = item(*fixtures)
    test.nodeid = nodeid
    assert conftest.needs_no_database(test) is alone


def test_pure_rules_that_ask_for_it_by_a_mark_need_it():
    test = item(django_db=pytest.mark.django_db.mark)
    test.nodeid = "tests/kits/domain/test_a.py::test_b"
    assert not conftest.needs_no_database(test)
