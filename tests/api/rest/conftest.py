"""Clients by role."""

from __future__ import annotations

from collections.abc import Callable

import pytest

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


@pytest.fixture
def rebuild(db: None) -> Rebuild:
    """The small shop and its people; nothing is booked yet."""
    small_shop()
    return new_rebuild()
