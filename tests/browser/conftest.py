"""The demo shop with one held kit, served, and a Chromium to look at it.

Where a machine has no Chromium these tests are deselected with a line that says so; a run with CI set refuses to start.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests import databases
from tests.browser import chromium
from tests.browser.scene import Scene, fill
from tests.served import Server

HERE = Path(__file__).resolve().parent
LEFT_OUT = "tests in a browser left out: no Chromium on this machine (Debian: apt install chromium fonts-liberation)"


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Deselect the tests of this folder where no browser is; with CI set that is a fault."""
    if chromium.executable() is not None:
        return
    left = [item for item in items if item.path.is_relative_to(HERE)]
    if left and os.environ.get("CI"):
        raise pytest.UsageError(LEFT_OUT)
    config.hook.pytest_deselected(items=left)
    items[:] = [item for item in items if not item.path.is_relative_to(HERE)]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say it where it is seen."""
    if chromium.executable() is None:
        terminalreporter.write_line(LEFT_OUT)


@pytest.fixture(scope="session")
def browser() -> Iterator[chromium.Chromium]:
    """One Chromium for the run."""
    path = chromium.executable()
    assert path is not None, LEFT_OUT
    one = chromium.Chromium(path)
    yield one
    one.close()


@pytest.fixture(scope="session")
def scene(template_database: str, django_db_blocker: Any) -> Iterator[Scene]:
    """The shop with its held kit, in a database of its own, and the service on it. Tests only read."""
    made: list[Scene] = []
    with (
        django_db_blocker.unblock(),
        databases.filled(template_database, "browser", lambda: made.append(fill())) as name,
    ):
        database = databases.ShopDatabase(name, databases.url_of(name))
        server = Server(database.environment(), workers=1, threads=4)
        try:
            yield made[0].at(server.address)
        finally:
            server.kill()
