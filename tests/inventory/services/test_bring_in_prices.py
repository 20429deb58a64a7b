"""Price lists, tables of suppliers and of sets: booked by as many statements however long they are, and looked at again before."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.domain.errors import DomainError
from inventory.models import MatchedSet, Supplier, SupplierPart
from inventory.services import bring_in_prices, bring_in_stock
from tests.factories.stores import PartFactory, SupplierFactory, shelf, stock
from tests.inventory.services.test_bring_in import answered, booked, codes, read_in
from tests.inventory.services.test_bring_in_lots import meanwhile

pytestmark = pytest.mark.django_db


def once_laid_out(monkeypatch, change):
    """Somebody does this after the table was laid out, before the act that books it begins."""
    real = bring_in_stock.stage

    def stage(file_id, today):
        known = real(file_id, today)
        monkeypatch.undo()
        change()
        return known

    monkeypatch.setattr(bring_in_stock, "stage", stage)


def sold():
    return list(
        SupplierPart.objects.order_by("part__number", "supplier__code").values_list(
            "supplier__code", "part__number", "number", "price_coins", "pack", "least_order", "lead_days"
        )
    )


def test_of_a_part_that_a_list_names_twice_the_last_word_of_each_column_counts():
    PartFactory(number="X-1"), PartFactory(number="X-2")
    SupplierFactory(code="SALT"), SupplierFactory(code="PEWTER")
    booked(read_in("prices", "supplier;part;price;their number;least order\nSALT;X-1;1.10;S1;5\n"))
    number = read_in(
        "prices",
        "supplier;part;price;their number;pack;lead days\n"
        "SALT;X-1;2.10;;10;21\nSALT;X-2;3.10;;;\nSALT;X-1;2.20;S9;;\nPEWTER;X-1;2.05;;;9\nSALT;X-1;2.30;;;14\n",
    )
    assert codes(number) == [[], [], ["row-twice"], [], ["row-twice"]]
    answered(number, (4, "", "it counts"), (6, "", "it counts"))
    assert booked(number)["booked"] == {"prices": 5}
    assert sold() == [
        ("PEWTER", "X-1", "", 205, 1, 1, 9),
        ("SALT", "X-1", "S9", 230, 10, 5, 14),
        ("SALT", "X-2", "", 310, 1, 1, None),
    ]


def test_an_answer_that_came_meanwhile_is_booked(monkeypatch):
    PartFactory(number="X-1")
    SupplierFactory(code="SALT")
    number = read_in("prices", "supplier;part;price;pack\nSALT;X-1;2.10;10\n")
    once_laid_out(monkeypatch, lambda: answered(number, (2, "price", "2.50")))
    booked(number)
    assert sold() == [("SALT", "X-1", "", 250, 10, 1, None)]


def _lines(kind, count):
    head = {"prices": "supplier;part;price", "suppliers": "code;name", "sets": "part;serial;place;weight with pin"}[
        kind
    ]
    line = {"prices": "SALT;X-{at};2.10", "suppliers": "V{at};vendor", "sets": "X-S;S-{at};R1;416 g"}[kind]
    return "\n".join([head, *(line.format(at=at) for at in range(count))])


@pytest.mark.parametrize("kind", ["prices", "suppliers", "sets"])
def test_a_long_table_takes_no_more_statements_than_a_short_one(kind, monkeypatch):
    shelf("R1")
    SupplierFactory(code="SALT")
    PartFactory(number="X-S", tracked_by="set", unit="SET")
    for at in range(60):
        PartFactory(number=f"X-{at}")
    asked, before = [], 0
    for count in (1, 4, 60):  # the first makes what every shop has
        number = read_in(kind, _lines(kind, count))
        with CaptureQueriesContext(connection) as seen, monkeypatch.context() as own:
            meanwhile(own, lambda own=own: own.setattr(bring_in_prices, "lay_out", None))
            body = booked(number, without_questioned=True)
        assert body["booked"] == {kind: count - before}
        before = count
        asked.append(len(seen))
    assert asked[1] == asked[2]


def test_a_supplier_who_was_entered_meanwhile_makes_the_row_stale(monkeypatch):
    number = read_in("suppliers", _lines("suppliers", 2))
    meanwhile(monkeypatch, lambda: SupplierFactory(code="V1"))
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["rows"]) == ("import-stale", [3])
    assert not Supplier.objects.filter(code="V0").exists()


def test_a_set_that_came_meanwhile_makes_the_row_stale(monkeypatch):
    part = PartFactory(number="X-S", tracked_by="set", unit="SET")
    shelf("R1")
    number = read_in("sets", _lines("sets", 2))
    once_laid_out(monkeypatch, lambda: stock(part, serial="S-1", place=shelf("R1")))
    with pytest.raises(DomainError) as caught:
        booked(number)
    assert (caught.value.code, caught.value.values["rows"]) == ("import-stale", [3])
    assert MatchedSet.objects.count() == 1
