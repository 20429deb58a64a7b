"""Kept pieces over HTTP: told by the act that brought the lot, listed, carried as the kept one."""

import pytest

from inventory.models import Item
from tests.factories.keeping import rings, stands, switch_on
from tests.factories.stores import PartFactory, SupplierFactory, shelf

pytestmark = pytest.mark.django_db


def test_a_delivery_names_what_is_kept_of_it(manager):
    switch_on()
    PartFactory(number="RING-K", kind="O-ring")
    shelf("R1")
    lines = [{"part": "RING-K", "amount": "5 EA", "lot": "B"}]
    answer = manager.send("receipts", {"supplier": SupplierFactory().code, "place": "R1", "lines": lines})
    assert answer.status_code == 201
    told = answer.json()["kept_back"]
    assert (told["pieces"], told["left_to_job"], told["why"]) == (1, [], "")
    assert told["kept"] == [
        {
            "lot_id": Item.objects.get().lot_id,
            "lot": "B",
            "part": "RING-K",
            "item": Item.objects.get().pk,
            "place": "R1",
        }
        | {"spot": "-", "kept": 1}
    ]
    again = manager.send("receipts", {"supplier": SupplierFactory().code, "place": "R1", "lines": lines})
    assert "kept_back" not in again.json()


def test_it_goes_to_the_drawer_and_is_listed_there(client_of):
    ring = rings()
    shelf("DRAWER")
    keeper = client_of("storekeeper")
    line = {"item": ring.pk, "amount": 1, "from_place": "R1", "to_place": "DRAWER", "kept": True}
    answer = keeper.send("transfers", {"lines": [line]})
    assert (answer.status_code, answer.json()["lines"][0]["kept"]) == (201, 1)
    assert [(one["lot"], one["place"]) for one in keeper.read("kept-pieces").json()] == [("B", "DRAWER")]
    (again,) = keeper.send("transfers", {"lines": [line]}).json()["lines"]
    assert again["code"] == "not-kept"
    not_so = keeper.send("transfers", {"lines": [line | {"kept": "yes"}]})
    assert (not_so.status_code, "kept" in not_so.json()["detail"]) == (400, True)
    assert (stands("R1"), stands("DRAWER")) == ((9, 0), (1, 1))


def test_a_count_that_lost_it_is_taken_back_and_it_is_kept_again(manager):
    ring = rings(2)
    none = {"place": "R1", "lines": [{"item": ring.pk, "counted": "0 EA"}], "reason": "gone", "looked_at": ["O-ring"]}
    lost = manager.send("counts", none)
    assert (lost.status_code, manager.read("kept-pieces").json()) == (201, [])
    act = lost.headers["Location"].rstrip("/").rsplit("/", 1)[1]
    back = manager.send(f"acts/{act}/corrections", {"reason": "the wrong bin"})
    assert back.status_code == 201, back.content
    assert back.json()["restored"] == {"kept": [{"lot": "B", "part": "RING-K", "place": "R1", "spot": "-"}]}
    assert [(one["lot"], one["place"]) for one in manager.read("kept-pieces").json()] == [("B", "R1")]
    assert stands("R1") == (2, 1)
