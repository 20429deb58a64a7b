"""Fixtures of the small workshop: set up once a run, a clone for each test. For the `conftest.py` of tests that use it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pytest_django import DjangoDbBlocker

from tests import databases
from tests.factories.workshop import workshop


@pytest.fixture(scope="session")
def workshop_template(template_database: str, django_db_blocker: DjangoDbBlocker) -> Iterator[str]:
    """Name of a database with the workshop and nothing on its shelves."""
    with django_db_blocker.unblock(), databases.filled(template_database, "workshop", workshop) as name:
        yield name


@pytest.fixture
def shop_database(workshop_template: str, django_db_blocker: DjangoDbBlocker) -> Iterator[databases.ShopDatabase]:
    """The workshop of this test alone, to which it may commit; the default connection points at it."""
    with django_db_blocker.unblock(), databases.clone(workshop_template, "work") as database:
        yield database
