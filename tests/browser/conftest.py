"""The demo shop with one held kit, served, and a Chromium to look at it.

Where a machine has no Chromium these tests are deselected; `tests/conftest.py` says so, and refuses to start where CI is set.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests import databases
from tests.browser import chromium
from tests.browser.scene import Scene, fill
from tests.served import Server

HERE = Path(__file__).resolve().parent


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Deselect the tests of this folder where no browser is."""
    if chromium.executable() is not None:
        return
    config.hook.pytest_deselected(items=[item for item in items if item.path.is_relative_to(HERE)])
    items[:] = [item for item in items if not item.path.is_relative_to(HERE)]


@pytest.fixture(scope="session")
def browser() -> Iterator[chromium.Chromium]:
    """One Chromium for the run."""
    path = chromium.executable()
    assert path is not None, chromium.LEFT_OUT
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
