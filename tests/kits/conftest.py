"""The demo shop's catalogue for tests of the rebuilds: loaded once a run; each test is rolled back."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pytest_django import DjangoDbBlocker

from tests import databases
from tests.factories.shop import load_catalogue


@pytest.fixture(scope="session")
def catalogue_database(template_database: str, django_db_blocker: DjangoDbBlocker) -> Iterator[str]:
    """Name of a database with the whole catalogue."""
    with (
        django_db_blocker.unblock(),
        databases.filled(template_database, "catalogue", lambda: str(load_catalogue())) as name,
    ):
        yield name


@pytest.fixture(scope="module")
def demo_shop(catalogue_database: str, django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """All tests of the module see the demo shop's catalogue; what each does is rolled back."""
    with django_db_blocker.unblock(), databases.pointed_at(catalogue_database):
        yield
