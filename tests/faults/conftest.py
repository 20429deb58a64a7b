"""The small workshop, one for all the acts of a module: each works on things of its own."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pytest_django import DjangoDbBlocker

from tests import databases
from tests.factories.workshop_databases import workshop_template

__all__ = ["shop_database", "workshop_template"]


@pytest.fixture(scope="module")
def shop_database(workshop_template: str, django_db_blocker: DjangoDbBlocker) -> Iterator[databases.ShopDatabase]:
    """A workshop to which the module's tests commit, one after another; the audit follows each of them."""
    with django_db_blocker.unblock(), databases.clone(workshop_template, "faults") as database:
        yield database
