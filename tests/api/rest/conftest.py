"""Clients by role."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from pytest_django import DjangoDbBlocker

from tests import databases
from tests.api.rest.clients import ShopClient, somebody
from tests.api.rest.described import DescribedClient
from tests.api.rest.rebuilds import Rebuild, small_shop
from tests.api.rest.rebuilds import rebuild as new_rebuild


@pytest.fixture
def client_of(db: None) -> Callable[[str], ShopClient]:
    """A client that is logged in as a new person of a role."""
    return lambda role: DescribedClient(somebody(role))


@pytest.fixture
def manager(client_of: Callable[[str], ShopClient]) -> ShopClient:
    """The parts manager's client."""
    return client_of("parts manager")


@pytest.fixture(scope="session")
def small_shop_database(template_database: str, django_db_blocker: DjangoDbBlocker) -> Iterator[str]:
    """Name of a database with the small shop, filled once a run."""
    with django_db_blocker.unblock(), databases.filled(template_database, "small", small_shop) as name:
        yield name
        databases.let_go(name)


@pytest.fixture(autouse=True)
def _at_the_small_shop(request: pytest.FixtureRequest, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """A test that asks for `rebuild` works on that database, whatever else it asks for first, and is rolled back."""
    if "rebuild" not in request.fixturenames:
        yield
        return
    name = request.getfixturevalue("small_shop_database")
    with django_db_blocker.unblock(), databases.shared(name):
        yield


@pytest.fixture
def rebuild(db: None) -> Rebuild:
    """The small shop and its people; nothing is booked yet."""
    return new_rebuild()
