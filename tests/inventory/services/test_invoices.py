"""Invoices: the rows, the refusals, and that one can be taken back."""

import pytest

from inventory.models import InvoiceTotal
from inventory.queries.late_invoices import late_invoices
from inventory.services.correct import correct
from inventory.services.invoices import enter_invoice
from inventory.services.receive import ReceiveLine
from tests.factories.acts import done, refused
from tests.factories.orders import came
from tests.factories.stores import NOON, PartFactory, PersonFactory, stamp

pytestmark = pytest.mark.django_db


@pytest.fixture
def line(db) -> int:
    PartFactory(number="B", tracked_by="nothing")
    return int(came(ReceiveLine("B", 10, total_coins=900))[0]["line"])


def test_the_newest_counts_and_one_that_is_taken_back_does_not(line: int) -> None:
    first = done(enter_invoice, line=line, coins=1000, note="R-1")
    assert first["difference_coins"] == 100
    second = done(enter_invoice, line=line, coins=1200, note="R-2")
    assert (second["was"], second["difference_coins"]) == (1000, 200)
    assert list(InvoiceTotal.objects.order_by("pk").values_list("coins", "note")) == [(1000, "R-1"), (1200, "R-2")]
    entered = late_invoices(NOON.date())["entered"]
    assert [(one["invoice"], one["difference_coins"]) for one in entered] == [("R-1", 100), ("R-2", 200)]
    correct(
        actor=PersonFactory(),
        stamp=stamp(),
        act_id=InvoiceTotal.objects.get(coins=1200).act_id,
        reason="another shop's",
    )
    assert [one["invoice"] for one in late_invoices(NOON.date())["entered"]] == ["R-1"]
    assert done(enter_invoice, line=line, coins=1300)["was"] == 1000


def test_what_is_refused(line: int) -> None:
    refused("not-found", enter_invoice, line=line + 1, coins=1)
    refused("amount-negative", enter_invoice, line=line, coins=-1)
    refused("amount-too-large", enter_invoice, line=line, coins=10**16)
    refused("reason-missing", enter_invoice, line=line, coins=0)
    done(enter_invoice, line=line, coins=5)
    refused("done-already", enter_invoice, line=line, coins=5)
    assert InvoiceTotal.objects.count() == 1


def test_no_invoice_for_a_delivery_that_was_taken_back(line: int) -> None:
    done(enter_invoice, line=line, coins=1000)
    act = InvoiceTotal.objects.get().line.receipt_id
    correct(actor=PersonFactory(), stamp=stamp(), act_id=act, reason="never came")
    assert late_invoices(NOON.date()) == {
        "on": NOON.date(), "waiting": [], "entered": [], "price_difference_coins": 0,
    }  # fmt: skip
    refused("not-found", enter_invoice, line=line, coins=7)
