"""Who delivered a lot or a thing: loose, inside a kit, by its serial, by the part alone; and nobody on record."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Item, Lot
from inventory.queries.sellers import sellers_of_items, sellers_of_lots
from inventory.services.count import CountLine, count
from inventory.services.open_item import open_kit
from inventory.services.receive import ReceiveLine, receive
from tests.factories.acts import done, item
from tests.factories.orders import came
from tests.factories.stores import PartFactory, SupplierFactory, bench, shelf
from tests.factories.stores_kits import kit
from tests.inventory.services.test_orders import undo

pytestmark = pytest.mark.django_db


def from_other(*lines: ReceiveLine) -> None:
    SupplierFactory(code="other", name="Another")
    done(receive, supplier="other", place=shelf("R1").code, lines=list(lines))


def of_items() -> dict[tuple[str, str], list[str]]:
    found = sellers_of_items(Item.objects.all())
    return {(one.part.number, one.identity): sorted(found[one.pk]) for one in Item.objects.select_related("part")}


def test_the_deliveries_that_stand_say_it_of_lots_serials_and_what_has_neither():
    PartFactory(number="O-1")
    PartFactory(number="S-1", tracked_by="serial")
    PartFactory(number="W-1", tracked_by="nothing")
    came(ReceiveLine("O-1", 5, lot="A"), ReceiveLine("S-1", 1, serial="7"), ReceiveLine("W-1", 5))
    from_other(ReceiveLine("O-1", 5, lot="A"), ReceiveLine("O-1", 5, lot="B"), ReceiveLine("S-1", 1, serial="8"))
    assert of_items() == {
        ("O-1", "lot=A"): ["maker", "other"], ("O-1", "lot=B"): ["other"], ("S-1", "serial=7"): ["maker"],
        ("S-1", "serial=8"): ["other"], ("W-1", "-"): ["maker"],
    }  # fmt: skip
    lots = {one.code: one.pk for one in Lot.objects.all()}
    assert sellers_of_lots(lots.values()) == {lots["A"]: {"maker", "other"}, lots["B"]: {"other"}}
    assert (sellers_of_lots([]), sellers_of_items([])) == ({}, {})


def test_a_delivery_that_was_taken_back_and_stock_that_was_counted_over_say_nothing():
    PartFactory(number="O-1")
    PartFactory(number="W-1", tracked_by="nothing")
    came(ReceiveLine("O-1", 5, lot="A"))
    undo("receive")
    came(ReceiveLine("W-1", 5))
    done(count, place="R1", lines=[CountLine(3, item("O-1", "lot=A").pk)], reason="found")
    assert of_items() == {("O-1", "lot=A"): [], ("W-1", "-"): ["maker"]}


@pytest.mark.parametrize("many", [1, 3])
def test_what_came_inside_kits_came_from_who_delivered_the_kit_in_as_many_queries(many):
    bench("bench 1")
    emergency = {"emergency": True, "demand": False, "reason": "burst on the stand"}
    numbers = [f"K-{number}" for number in range(many)]
    for number in numbers:
        kit(number, {f"O{number[2:]}": 2, f"P{number[2:]}": 1})
        box = ReceiveLine(number, 2, lot="K1", inner_lots={f"O{number[2:]}": "A"})
        done(receive, supplier=SupplierFactory().code, place="bench 1", lines=[box], **emergency)
        # The bag of the other could not be read: it is what came out of that box, and no more is known.
        done(open_kit, item_id=item(number, "lot=K1").pk, place="bench 1")
    from_other(*(ReceiveLine(f"P{number}", 1, lot="B") for number in range(many)))
    found = of_items()
    assert {tuple(codes) for (part, _), codes in found.items() if part.startswith(("K", "O"))} == {("maker",)}
    assert [codes for (part, its), codes in found.items() if its == "lot=B"] == [["other"]] * many
    rest = [codes for (part, its), codes in found.items() if part.startswith("P") and its != "lot=B"]
    assert rest == [["maker"]] * many
    items = list(Item.objects.all())
    with CaptureQueriesContext(connection) as queries:
        sellers_of_items(items)
    # The boxes, the kits that hold the lots (these are among them), the deliveries of lots, those of things.
    assert len(queries) == 4, [one["sql"] for one in queries]
