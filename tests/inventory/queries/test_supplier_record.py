"""What a supplier did, out of the books."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from inventory.domain.errors import DomainError
from inventory.models import Act, Lot
from inventory.queries.supplier_record import supplier_records
from inventory.services.claims import reject
from inventory.services.orders import EndIn, OrderLineIn, close_lines
from inventory.services.receive import ReceiveLine
from inventory.services.transfer import ReleaseLine, release_quarantine
from tests.factories.acts import done
from tests.factories.orders import came, ordered
from tests.factories.papers import inspected, planned
from tests.factories.stores import NOON, PartFactory, PersonFactory, stamp
from tests.inventory.services.test_orders import undo

pytestmark = pytest.mark.django_db
#: Orders are placed on this day; what came is told in days since.
PLACED = NOON - timedelta(days=40)


def order(number: str, amount: int = 10, promised: int | None = 20) -> None:
    """An order of rings, promised so many days later."""
    day = None if promised is None else (PLACED + timedelta(days=promised)).date()
    ordered(OrderLineIn("O-1", amount=amount, promised_on=day), number=number, at=PLACED)


def arrives(number: str, days: int, amount: int = 10, **more) -> dict:
    """So much came for it after so many days."""
    return came(ReceiveLine("O-1", amount, lot=number, **more), order=number, at=PLACED + timedelta(days=days))[0]


def small_history() -> None:
    """Six orders: on time; late; short and closed; rejected and not replaced; open past its promise; not promised, not come."""
    PartFactory(number="O-1")
    for number in ("P-1", "P-2", "P-3", "P-4", "P-5"):
        order(number)
    order("P-6", promised=None)
    arrives("P-1", 18)
    arrives("P-2", 25)
    arrives("P-3", 20, amount=9)
    done(close_lines, order="P-3", lines=[EndIn(1)], reason="none left", stamp=stamp(PLACED + timedelta(days=30)))
    arrives("P-4", 19, rejected="wrong rubber")


def test_late_short_rejected_and_lead_times_with_open_lines_as_at_least():
    small_history()
    (row,) = supplier_records(NOON.date())
    assert (row.supplier, row.lines, row.open) == ("maker", 6, 3)
    # P-1 and P-3 in time; P-2 late, P-4 rejected, P-5 not there; P-6 was not promised
    assert (row.on_time, row.late, row.on_time_permille, row.promises_passed) == (2, 3, 400, 3)
    assert (row.short, row.rejected, row.came, row.at_least) == (1, 1, 3, 3)
    # Came after 18, 20 and 25 days, three more are out for 40: by hand 1/6 each, so half are there by day 25.
    assert (row.lead_lower_quartile_days, row.lead_median_days, row.lead_upper_quartile_days) == (20, 25, None)
    # 18/6 + 20/6 + 25/6 + 3 * 40/6 = 30.5
    assert (row.lead_mean_days, row.lead_mean_restricted_to_days) == (Decimal("30.5"), 40)


def test_on_an_earlier_day_only_what_had_happened_counts():
    small_history()
    (row,) = supplier_records((PLACED + timedelta(days=20)).date())
    assert (row.on_time, row.late, row.on_time_permille, row.short, row.rejected) == (1, 0, 1000, 0, 1)
    assert (row.came, row.at_least, row.lead_median_days) == (1, 5, None)
    assert supplier_records((PLACED - timedelta(days=1)).date()) == []
    assert supplier_records(NOON.date(), since=(PLACED + timedelta(days=1)).date()) == []
    assert len(supplier_records(NOON.date(), since=PLACED.date(), supplier="maker")) == 1
    with pytest.raises(DomainError) as unknown:
        supplier_records(NOON.date(), supplier="makr")
    assert unknown.value.values["near"] == ["maker"]


def test_what_waits_for_its_sample_is_not_usable_before_it_is_released():
    PartFactory(number="O-1")
    planned("O-1")
    order("P-1")
    line = arrives("P-1", 10)
    (row,) = supplier_records(NOON.date())
    assert (row.on_time, row.came, row.at_least) == (1, 0, 1)
    inspected(Act.objects.get(kind="receive").pk, Lot.objects.get().pk)
    at = stamp(PLACED + timedelta(days=14))
    done(release_quarantine, actor=PersonFactory(), stamp=at, lines=[ReleaseLine(line["item"], 10, "Q1", "R1")])
    (row,) = supplier_records(NOON.date())
    assert (row.came, row.lead_median_days, row.lead_mean_days, row.lead_mean_restricted_to_days) == (
        1,
        14,
        Decimal(14),
        None,
    )


def test_what_was_rejected_later_is_not_usable_and_a_correction_gives_it_back():
    PartFactory(number="O-1")
    order("P-1")
    line = arrives("P-1", 10)
    words = {"place": "R1", "quarantine": "Q1", "reason": "torn"}
    done(reject, line=line["line"], amount=1, stamp=stamp(PLACED + timedelta(days=15)), **words)
    (row,) = supplier_records(NOON.date())
    assert (row.came, row.rejected, row.on_time, row.late, row.open) == (0, 1, 0, 1, 1)
    arrives("P-1", 30, amount=1)
    assert supplier_records(NOON.date())[0].lead_median_days == 30
    undo("reject")
    (row,) = supplier_records(NOON.date())
    assert (row.came, row.rejected, row.on_time, row.lead_median_days) == (1, 0, 1, 10)


@pytest.mark.parametrize("many", [1, 3])
def test_the_queries_do_not_grow_with_the_history(many, django_assert_num_queries):
    PartFactory(number="O-1")
    for number in range(many):
        order(f"P-{number}")
        arrives(f"P-{number}", 10)
    with django_assert_num_queries(9):
        supplier_records(date(2025, 1, 15))
