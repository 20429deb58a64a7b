"""A table of stock is a count: what was counted or came before it, and is entered after it, is not booked a second time."""

from datetime import timedelta

import pytest

from api.tables.read import read_table
from inventory.models import Act, Balance, CountedLine
from inventory.queries.audit import audit
from inventory.queries.counting import counts_kept, last_counted
from inventory.services.bring_in import book_table, keep_table, read_table_rows
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.count_sheets import post_sheet
from inventory.services.enter_counts import SheetLineIn, enter_counts
from inventory.services.receive import ReceiveLine, receive
from tests.factories.acts import done, item, refused
from tests.factories.counting import minutes, sheet_of
from tests.factories.stores import NOON, PartFactory, SupplierFactory, shelf, stamp, stock

pytestmark = pytest.mark.django_db
LOOKED = ["O-ring"]


@pytest.fixture
def ring():
    """Forty rings of lot A and three of lot B, at two shelves."""
    part = PartFactory(number="RING", kind="O-ring")
    stock(part, 40, lot="A", place=shelf("R1"), at=NOON - timedelta(days=9))
    stock(part, 3, lot="B", place=shelf("R2"), at=NOON - timedelta(days=9))
    return item("RING", "lot=B")


def table(at=10):
    """Five of lot B at R1, as a table says it; the act that booked it."""
    content = b"part;place;amount;lot\nRING;R1;5;B\n"
    number = done(keep_table, kind="stock", name="t.csv", content=content, reader=read_table)["import"]
    done(read_table_rows, file_id=number, rows=read_table(content, "t.csv").rows)
    done(book_table, stamp=minutes(at), file_id=number)
    return Act.objects.get(kind="book table")


def there(place="R1"):
    return dict(Balance.objects.filter(place__code=place).values_list("item__lot__code", "amount"))


def test_what_a_sheet_found_before_the_table_is_not_booked_after_it(ring):
    """The five stood beside the forty on the sheet, and came in with the table before the sheet was booked."""
    sheet = sheet_of("RING")
    lines = [SheetLineIn(40, 1), SheetLineIn(5, bin=1, lot="B")]
    done(enter_counts, stamp=minutes(5), sheet=sheet, lines=lines, looked_at=LOOKED)
    table(at=10)
    body = done(post_sheet, stamp=minutes(15), sheet=sheet, reason="found")
    assert (len(body["counted_since"]), there()) == (1, {"A": 40, "B": 5})
    assert audit() == []


def test_a_count_and_a_delivery_of_before_the_table_that_are_entered_late_wait(ring):
    booked = table(at=10)
    line = CountLine(5, item_id=ring.pk)
    given = {"place": "R1", "lines": [line], "reason": "found", "looked_at": LOOKED}
    refused("counted-since", count, stamp=minutes(5), **given)
    late = stamp(NOON + timedelta(minutes=5), recorded_at=NOON + timedelta(hours=1))
    came = {"supplier": SupplierFactory().code, "place": "R1", "lines": [ReceiveLine("RING", amount=5, lot="B")]}
    refused("counted-since", receive, stamp=late, **came)
    assert there() == {"A": 40, "B": 5}
    # The table is taken back: it is booked.
    done(correct, act_id=booked.pk, reason="it came on that day", stamp=minutes(70))
    done(receive, stamp=stamp(NOON + timedelta(minutes=6), recorded_at=NOON + timedelta(hours=2)), **came)
    assert there() == {"A": 40, "B": 5}
    assert audit() == []


def test_a_table_is_nobodys_count_of_a_bin(ring):
    """It says nothing of how right the books were, nor when somebody last looked."""
    act = table()
    (line,) = CountedLine.objects.filter(act=act)
    assert (line.item, line.spot.place.code, line.on_books, line.counted, line.at) == (
        ring,
        "R1",
        0,
        5,
        act.occurred_at,
    )
    assert (counts_kept().count(), last_counted([line.spot_id])) == (0, {})
