"""What every test gets: a database to work on, the audit after it, and tests of one database only where they belong.

db               pytest-django's: a migrated database, everything rolled back afterwards
shop_database    a clone of the migrated template: for commits, threads, other processes, a live server
@damages_books   the test breaks the books on purpose; the audit afterwards is left out
@postgres_only, @sqlite_only    the test is deselected on the other database
"""

from __future__ import annotations

import gc
import os
from collections.abc import Generator, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from django.db import connection
from pytest_django import DjangoDbBlocker
from xdist.scheduler import LoadFileScheduling

from inventory.queries.audit import Finding, audit, every_check, run_check
from inventory.queries.snapshot import snapshot
from tests import databases
from tests.browser import chromium

MARKERS = (
    "damages_books: breaks the books on purpose, so the audit after the test is left out",
    "postgres_only: deselected unless DATABASE_URL is a PostgreSQL server",
    "sqlite_only: deselected unless the database is an SQLite file",
)
# A busy machine must not fail a property test by its clock, and one run of CI must find what the next one finds.
hypothesis.settings.register_profile(
    "house",
    deadline=None,
    derandomize="CI" in os.environ,
    print_blob=True,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.load_profile("house")

STORIES = "tests/journeys/"
#: What is tested here needs no database, unless a test asks for one: the whole suite runs it with SQLite, and not a second time.
PURE = ("tests/inventory/domain/", "tests/kits/domain/", "tests/tidy/")
EMPTYING = {"transactional_db", "live_server", "django_db_reset_sequences", "django_db_serialized_rollback"}


def pytest_configure(config: pytest.Config) -> None:
    """Announce the markers; refuse the options that would test something else than what runs, and a CI without browser."""
    for marker in MARKERS:
        config.addinivalue_line("markers", marker)
    # Looking through a million lasting objects for rubbish, as often as a small program would, takes a tenth of the time of a run.
    gc.set_threshold(100_000, 50, 100)
    if config.getoption("nomigrations") or config.getoption("reuse_db"):
        raise pytest.UsageError("The guards come with the migrations: they are always run, on a new database.")
    if chromium.executable() is None and "CI" in os.environ:
        raise pytest.UsageError(chromium.LEFT_OUT)


class OfOneFolder(LoadFileScheduling):
    """Each worker takes whole files; the stories together, for they share the shops that are loaded for them."""

    def _split_scope(self, nodeid: str) -> str:
        return STORIES if nodeid.startswith(STORIES) else str(super()._split_scope(nodeid))


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadFileScheduling | None:
    """How the files are shared out over the cores."""
    return OfOneFolder(config, log) if config.getoption("dist") == "loadfile" else None


def pytest_collection_finish(session: pytest.Session) -> None:
    """What was loaded for all tests lasts as long as they do: nobody looks through it for rubbish again."""
    gc.collect()
    gc.freeze()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """What this machine cannot run is said where it is seen: by the process that shares the tests out."""
    if chromium.executable() is None:
        terminalreporter.write_line(chromium.LEFT_OUT)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Deselect the tests of the other database; refuse fixtures that empty tables, which the guards forbid."""
    foreign = "sqlite_only" if databases.on_postgresql() else "postgres_only"
    for item in items:
        if wants_emptying(item):
            raise pytest.UsageError(
                f"{item.nodeid}: rows written once cannot be emptied; use the fixture shop_database."
            )
    twice = databases.on_postgresql() and {Path(arg).resolve() for arg in config.args} == {Path(__file__).parent}
    left = [item for item in items if item.get_closest_marker(foreign) or (twice and needs_no_database(item))]
    if left:
        config.hook.pytest_deselected(items=left)
        gone = {id(item) for item in left}
        items[:] = [item for item in items if id(item) not in gone]


def needs_no_database(item: pytest.Item) -> bool:
    """True for a test of pure rules or of the tree itself that asks for no database."""
    asks = {"db", "shop_database", "template_database"} & set(getattr(item, "fixturenames", ()))
    return item.nodeid.startswith(PURE) and not asks and item.get_closest_marker("django_db") is None


def wants_emptying(item: pytest.Item) -> bool:
    """True if the test would have its tables emptied, by a fixture or by its marker."""
    marker = item.get_closest_marker("django_db")
    return bool(EMPTYING & set(getattr(item, "fixturenames", ()))) or bool(marker and (marker.args or marker.kwargs))


@pytest.fixture(scope="session")
def template_database(django_test_environment: None, django_db_blocker: DjangoDbBlocker) -> Iterator[str]:
    """Name of the migrated template; made once a run, by each worker for itself."""
    with django_db_blocker.unblock(), databases.template() as name:
        yield name


@pytest.fixture(scope="session")
def django_db_setup(template_database: str, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """The database of pytest-django's `db`: the first clone of the template, for the whole run."""
    with django_db_blocker.unblock(), databases.clone(template_database, "ordinary"):
        yield


@pytest.fixture
def shop_database(
    request: pytest.FixtureRequest, template_database: str, django_db_blocker: DjangoDbBlocker
) -> Iterator[databases.ShopDatabase]:
    """A database of this test alone, to which it may commit; the default connection points at it."""
    if "db" in request.fixturenames or request.node.get_closest_marker("django_db"):
        raise pytest.UsageError("A test has either db or shop_database.")
    with django_db_blocker.unblock(), databases.clone(template_database) as database:
        yield database


def keeps_books(item: pytest.Item) -> bool:
    """True if the audit follows the test: it had a database and did not say that it damages the books."""
    had = {"db", "shop_database", "planted_shop", "story", "either_story"} & set(
        getattr(item, "fixturenames", ())
    ) or item.get_closest_marker("django_db")
    return bool(had) and item.get_closest_marker("damages_books") is None


def whole_audit() -> list[Finding]:
    """What `audit` finds. PostgreSQL keeps its checks prepared on each connection: planning them is nearly all that they
    cost."""
    if not databases.on_postgresql():
        return audit()
    connection.ensure_connection()
    with snapshot():
        if not getattr(connection.connection, "checks_prepared", False):
            with connection.cursor() as cursor:
                for number, check in enumerate(every_check()):
                    cursor.execute(f"PREPARE check_{number} AS {check.sql}")
            connection.connection.checks_prepared = True
        prepared = [replace(check, sql=f"EXECUTE check_{number}") for number, check in enumerate(every_check())]
        return [finding for check in prepared for finding in run_check(check)]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, None, None]:
    """After a test that passed, while its database still stands: the books must be whole."""
    yield
    if keeps_books(item):
        findings = whole_audit()
        assert findings == [], "the test left the books damaged:\n" + "\n".join(str(finding) for finding in findings)
