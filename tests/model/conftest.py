"""The small workshop, one for all the walks: each of them is undone when it ends."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pytest_django import DjangoDbBlocker

from tests import databases
from tests.factories.workshop_databases import workshop_template

__all__ = ["shop_database", "workshop_template"]


@pytest.fixture(scope="module")
def shop_database(workshop_template: str, django_db_blocker: DjangoDbBlocker) -> Iterator[databases.ShopDatabase]:
    """A workshop in which the module's walks begin; the audit follows each test."""
    with django_db_blocker.unblock(), databases.clone(workshop_template, "walks") as database:
        yield database
