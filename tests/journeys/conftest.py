"""The planted lot as the demo shop lived it: its engines, its reworks, nothing else; loaded once a run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from api.demo.catalogue import load_duties, load_gauges, load_parts, load_people, load_procedures, load_safety_sheets
from api.demo.files import document
from api.demo.history import History
from api.demo.stock import Buyer
from tests import databases
from tests.api.rest.clients import ShopClient
from tests.journeys import shop

LOT = "SB-2341"


def of_the_lot(row: Mapping[str, Any]) -> bool:
    """Engines built with the lot, every rework, and the first rebuild of the engines that were reworked."""
    reworked = {job["engine"] for job in document("jobs")["jobs"] if job["type"] != "rebuild"}
    return LOT in row.get("lot_of", {}).values() or row["engine"] in reworked


def fill() -> None:
    """Load the part of the demo's history that the lot needs."""

    def quiet(text: str) -> None:
        assert text

    staff = load_people("demo")
    load_duties(staff, staff["amos"])
    load_parts(staff["maren"], quiet)
    load_safety_sheets(staff, quiet)
    load_procedures(staff["maren"], quiet)
    load_gauges(staff.inspector, quiet)
    assert History(staff, Buyer(staff), quiet).run(of_the_lot) == 23


@pytest.fixture(scope="session")
def planted_template(template_database: str, django_db_blocker: Any) -> Iterator[str]:
    """A template database with the lot's history."""
    with django_db_blocker.unblock(), databases.filled(template_database, "planted", fill) as name:
        yield name
        databases.let_go(name)


@pytest.fixture
def planted_shop(planted_template: str, django_db_blocker: Any) -> Iterator[None]:
    """It for one test, rolled back."""
    with django_db_blocker.unblock(), databases.shared(planted_template):
        yield


@pytest.fixture
def hester(planted_shop: None) -> ShopClient:
    """The warranty clerk's client."""
    return ShopClient(load_people("demo")["hester"])


@pytest.fixture
def maren(planted_shop: None) -> ShopClient:
    """The parts manager's client."""
    return ShopClient(load_people("demo")["maren"])


@pytest.fixture(scope="session")
def shop_template(template_database: str, django_db_blocker: Any) -> Iterator[str]:
    """A template database with the demo shop's catalogue and people, and nothing on its shelves."""
    with (
        django_db_blocker.unblock(),
        databases.filled(template_database, "catalogue", lambda: shop.fill(shop.same)) as name,
    ):
        yield name
        databases.let_go(name)


@pytest.fixture(scope="session")
def renamed_template(template_database: str, django_db_blocker: Any) -> Iterator[str]:
    """The same shop with every name changed."""
    with (
        django_db_blocker.unblock(),
        databases.filled(template_database, "renamed", lambda: shop.fill(shop.naming("renamed"))) as name,
    ):
        yield name
        databases.let_go(name)


@pytest.fixture
def story(shop_template: str, django_db_blocker: Any) -> Iterator[shop.Story]:
    """The demo shop for one story."""
    with django_db_blocker.unblock(), databases.shared(shop_template):
        yield shop.Story()


@pytest.fixture(params=["as written", "renamed"])
def either_story(request: pytest.FixtureRequest, django_db_blocker: Any) -> Iterator[shop.Story]:
    """The demo shop for one story, once as it is written and once with every name changed."""
    template = request.getfixturevalue("shop_template" if request.param == "as written" else "renamed_template")
    with django_db_blocker.unblock(), databases.shared(template):
        yield shop.Story(request.param)
