"""A kit that is stopped by its own lot: what came out of it is stopped with it, wherever it is, and what comes out goes aside."""

from typing import Any

import pytest

from inventory.models import Balance, Item, Lot
from inventory.queries.stock import on_shelves, stopped, stopped_items
from tests.api.rest.clients import ShopClient, somebody
from tests.factories.stores import PartFactory, quarantine
from tests.factories.stores_kits import closed_kits, kit

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager() -> ShopClient:
    """Kits of a lot, one of them opened onto the shelf."""
    for number in ("R-1", "G-1"):
        PartFactory(number=number, tracked_by="nothing")
    kit("K-1", {"R-1": 2, "G-1": 1})
    closed_kits("K-1", 3, lot="K-A")
    made = ShopClient(somebody("parts manager"))
    opened(made)
    return made


def opened(manager: ShopClient, **more: Any) -> dict[str, Any]:
    box = Item.objects.get(part__number="K-1")
    answer = manager.send(f"items/{box.pk}/openings", {"place": "R1"} | more)
    said: dict[str, Any] = answer.json()
    return said


def stop(manager: ShopClient, path: str = "") -> dict[str, Any]:
    answer = manager.send(path or f"lots/{Lot.objects.get(code='K-A').pk}/stops", {"reason": "wrong rings packed"})
    assert answer.status_code == 201, answer.content
    said: dict[str, Any] = answer.json()
    return said


def contents() -> set[int]:
    return set(Item.objects.filter(from_kit__isnull=False).values_list("pk", flat=True))


def test_what_came_out_of_it_is_stopped_and_found(manager: ShopClient) -> None:
    assert stopped_items(contents()) == set()
    where = stop(manager)["where"]
    assert [(row["part"], row["place"], row["amount"]) for row in where["out_of_kits"]] == [
        ("G-1", "R1", 1), ("R-1", "R1", 2),
    ]  # fmt: skip
    assert stopped_items(contents()) == contents()
    assert set(Item.objects.filter(stopped("")).values_list("pk", flat=True)) >= contents()
    parts = set(Item.objects.filter(pk__in=contents()).values_list("part", flat=True))
    assert {row.stopped for row in on_shelves(parts)} == {True}


def test_a_stop_of_the_item_reaches_them_too(manager: ShopClient) -> None:
    stop(manager, f"items/{Item.objects.get(part__number='K-1').pk}/stops")
    assert stopped_items(contents()) == contents()


def test_a_stopped_kit_is_opened_into_quarantine_only(manager: ShopClient) -> None:
    quarantine("Q1")
    stop(manager)
    answer = opened(manager)
    assert (answer["code"], answer["ways_out"]) == ("stopped", ["Lay what comes out of it in quarantine."])
    opened(manager, to_place="Q1")
    assert set(Balance.objects.filter(place__code="Q1", amount__gt=0).values_list("part__number", "amount")) == {
        ("R-1", 2), ("G-1", 1),
    }  # fmt: skip


def test_the_whereabouts_of_its_lot_follow_what_came_out(manager: ShopClient) -> None:
    found = manager.read(f"lots/{Lot.objects.get(code='K-A').pk}/whereabouts").json()["out_of_kits"]
    assert [(row["part"], row["place"], row["amount"]) for row in found] == [("G-1", "R1", 1), ("R-1", "R1", 2)]
