"""What is written by hand says the same as what is composed."""

from datetime import UTC, datetime

import pytest

from inventory.models import Item, Lot
from inventory.queries.by_hand import STOPPED, marks, moment, rows
from inventory.queries.stock import stopped, stopped_items
from inventory.services.stops import free_lot, stop_item, stop_lot
from tests.factories.acts import done, item
from tests.factories.stores import PartFactory, stock
from tests.factories.stores_kits import closed_kits, kit

pytestmark = pytest.mark.django_db


def both_ways() -> tuple[set[str], set[str]]:
    """Identities of the stopped items, by the hand-written condition and by the composed one."""
    by_hand = {row[0] for row in rows(f"SELECT i.identity FROM inventory_item i WHERE {STOPPED}")}
    return by_hand, set(Item.objects.filter(stopped("")).values_list("identity", flat=True))


def test_the_stopped_condition_is_the_composed_one():
    kit("K-1", {"R-1": 2})
    kit("K-2", {"K-1": 1})
    closed_kits("K-1", 1, lot="K-A", inner={"R-1": "B1"})
    closed_kits("K-1", 1, lot="K-B", inner={"R-1": "B2"})
    closed_kits("K-2", 1, lot="K2-A", inner={"K-1": "K-A"})
    ring, other = Item.objects.get(identity="lot=K-A").part, PartFactory(number="ONE", tracked_by="serial")
    stock(Lot.objects.get(code="B1").part, 3, lot="B1")
    stock(other, serial="S1")
    stock(other, serial="S2")
    assert both_ways() == (set(), set())
    stop = done(stop_lot, lot_id=Lot.objects.get(code="B1").pk, reason="leaks")
    assert both_ways() == ({"lot=B1", "lot=K-A", "lot=K2-A"},) * 2
    done(stop_item, item_id=item("ONE", "serial=S1").pk, reason="dented")
    assert both_ways() == ({"lot=B1", "lot=K-A", "lot=K2-A", "serial=S1"},) * 2
    assert stopped_items([item("ONE", "serial=S1").pk, item("ONE", "serial=S2").pk]) == {item("ONE", "serial=S1").pk}
    done(free_lot, lot_id=Lot.objects.get(code="B1").pk, stop_id=stop["stop"], reason="looked at")
    assert both_ways() == ({"serial=S1"},) * 2
    assert ring.number == "K-1"
    assert stopped_items([]) == set()


def test_moments_have_a_zone_and_marks_are_as_many_as_asked():
    at = datetime(2025, 1, 15, 12, 0)  # noqa: DTZ001 - as SQLite gives it, without its zone
    assert moment(at) == datetime(2025, 1, 15, 12, 0, tzinfo=UTC)
    assert moment(at.replace(tzinfo=UTC)) == at.replace(tzinfo=UTC)
    assert moment(None) is None
    assert marks(3) == "%s, %s, %s"
