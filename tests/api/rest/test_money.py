"""Stock value, costs of jobs and late invoices over HTTP."""

from datetime import timedelta
from fractions import Fraction

import pytest

from inventory.domain.places import PlaceKind
from inventory.models import InvoiceTotal, ReceiptLine
from inventory.services import things
from inventory.services.orders import OrderLineIn
from inventory.services.receive import ReceiveLine
from inventory.services.set_up import set_up_shop
from tests.factories.orders import came, ordered
from tests.factories.stores import NOON, PartFactory, PersonFactory, quarantine, shelf, site, stamp
from tests.factories.stores_kits import closed_kits, kit
from tests.inventory.services.test_bring_in import booked, read_in

pytestmark = pytest.mark.django_db


def days(number):
    return NOON + timedelta(days=number)


def at(number):
    return {"occurred_at": days(number).isoformat()}


def value(client, **query):
    body = client.read("stock-value", **query).json()
    assert body["adds_up"] is True
    return body


def row(client, part, **query):
    (found,) = [one for one in value(client, **query)["rows"] if one["part"] == part]
    return found["amount"], found["coins"], found["each"], found["unknown"]


@pytest.fixture
def bolts(db):
    """Worked example of the demo shop (invented): 10 at 4.00, 20 at 4.60."""
    PartFactory(number="B", tracked_by="nothing")
    came(ReceiveLine("B", 10, total_coins=4000))
    came(ReceiveLine("B", 20, total_coins=9200), at=days(1))


def test_stock_on_any_day_and_as_it_was_known(bolts, manager):
    assert row(manager, "B") == (30, 13200, "440.00000", 0)
    day = NOON.date().isoformat()
    assert row(manager, "B", on=day) == (10, 4000, "400.00000", 0)
    # All of it was recorded later than that day.
    assert value(manager, known="2024-12-31")["rows"] == []
    act = ReceiptLine.objects.order_by("pk").last().receipt_id
    before = InvoiceTotal.objects.count()
    done = manager.send(f"acts/{act}/corrections", {"reason": "came to another shop"})
    assert done.status_code == 201
    assert (row(manager, "B")[:2], InvoiceTotal.objects.count()) == ((10, 4000), before)
    # As known before the correction, the delivery still counts.
    assert row(manager, "B", known=(NOON + timedelta(days=2)).isoformat())[:2] == (30, 13200)


def test_first_in_first_out_is_a_setting_of_the_shop(bolts, manager, client_of):
    body = {"item": value_item("B"), "amount": 12, "reason": "bent", "who_pays": "shop", "place": "R1"}
    assert manager.send("scraps", body | at(2)).status_code == 201
    assert row(manager, "B")[:2] == (18, 7920)
    set_up_shop(actor=PersonFactory(), stamp=stamp(), settings={"valuation": "first in first out"})
    assert row(manager, "B")[:2] == (18, 8280)
    assert value(manager)["gone"] == [{"where": "scrapped", "coins": 4920}]


def value_item(part):
    return ReceiptLine.objects.filter(item__part__number=part).first().item_id


def test_a_late_invoice_is_an_entry_and_what_was_issued_keeps_its_cost(manager, client_of):
    PartFactory(number="B", tracked_by="nothing")
    number = ordered(OrderLineIn("B", amount=10, total_coins=4000))
    (line,) = came(ReceiveLine("B", 10), order=number)
    assert row(manager, "B") == (10, 4000, "400.00000", 0)
    (waits,) = manager.read("late-invoices", on="2025-01-20").json()["waiting"]
    assert (waits["line"], waits["counts_as_coins"], waits["part"], waits["days"]) == (line["line"], 4000, "B", 5)
    scrap = {"item": line["item"], "amount": 4, "reason": "bent", "who_pays": "shop", "place": "R1"}
    assert manager.send("scraps", scrap | at(2)).status_code == 201
    invoice = {"line": line["line"], "coins": 5000, "note": "R-77"}
    refused = client_of("storekeeper").send("late-invoices", invoice)
    assert (refused.status_code, refused.json()["code"]) == (403, "not-allowed")
    entered = manager.send("late-invoices", invoice | at(3)).json()
    assert (entered["was"], entered["difference_coins"]) == (4000, 1000)
    body = manager.read("late-invoices", on="2025-01-20").json()
    (said,) = body["entered"]
    assert (body["waiting"], said["on_hand_coins"], said["price_difference_coins"]) == ([], 600, 400)
    now = value(manager)
    assert (now["coins"], now["difference_coins"], now["received_coins"]) == (3000, 400, 5000)
    assert now["gone"] == [{"where": "scrapped", "coins": 1600}]
    # On the day before it was entered, nothing of it was there.
    assert row(manager, "B", on=days(2).date().isoformat())[:2] == (6, 2400)
    again = manager.send("late-invoices", invoice | at(3))
    assert (again.status_code, again.json()["code"]) == (409, "done-already")


def test_what_is_free_of_charge_or_has_no_price_waits_in_suspense(manager):
    PartFactory(number="B", tracked_by="nothing")
    (free,) = came(ReceiveLine("B", 5, total_coins=0))
    (open_,) = came(ReceiveLine("B", 5))
    assert row(manager, "B") == (10, 0, "", 10)
    assert [one["counts_as_coins"] for one in manager.read("late-invoices", on="2025-02-01").json()["waiting"]] == [
        None, None,
    ]  # fmt: skip
    nothing = {"line": free["line"], "coins": 0}
    assert manager.send("late-invoices", nothing).json()["code"] == "reason-missing"
    assert manager.send("late-invoices", nothing | {"reason": "a sample"}).status_code == 201
    assert row(manager, "B") == (10, 0, "0.00000", 5)
    assert manager.send("late-invoices", {"line": 9999, "coins": 1}).json()["code"] == "not-found"
    assert manager.send("late-invoices", {"line": open_["line"], "coins": -1}).json()["code"] == "fields-wrong"


def test_opening_a_kit_splits_its_cost_by_the_prices_of_that_day(manager):
    for number, price in (("HG", 3100), ("MG", 650)):
        PartFactory(number=number, price_coins=price, tracked_by="nothing")
    kit("TOP", {"HG": 1, "MG": 2})
    shelf("R1")
    closed_kits("TOP", 2, lot="K-1")
    line = ReceiptLine.objects.get()
    assert (
        manager.send("late-invoices", {"line": line.pk, "coins": 8801, "occurred_at": NOON.isoformat()}).status_code
        == 201
    )
    assert manager.send(f"items/{line.item_id}/openings", {"place": "R1", "amount": 1}).status_code == 201
    whole = value(manager)
    # 88.01 for two: one goes for 44.00; 31.00 and 2 × 6.50 are 44.00 too
    assert [(one["part"], one["amount"], one["coins"]) for one in whole["rows"]] == [
        ("HG", 1, 3100), ("MG", 2, 1300), ("TOP", 1, 4401),
    ]  # fmt: skip
    # A price that is changed later changes nothing.
    changed = manager.send("parts/HG", {"price_coins": 9900}, method="PATCH", if_match='"1"')
    assert (changed.status_code, value(manager)["rows"]) == (201, whole["rows"])


def test_stock_that_was_taken_over_has_the_value_that_its_table_says(manager):
    PartFactory(number="X-1", tracked_by="nothing")
    PartFactory(number="X-5", tracked_by="set", unit="SET", kind="matched set")
    shelf("R1")
    booked(read_in("stock", "part;place;amount;value\nX-1;R1;7;10.01\n"))
    booked(read_in("sets", "part;serial;place;value\nX-5;S-1;R1;93.20\nX-5;S-2;R1;\n"))
    body = value(manager)
    assert [(one["part"], one["amount"], one["unknown"], one["coins"], one["own_cost"]) for one in body["rows"]] == [
        ("X-1", 7, 0, 1001, False), ("X-5", 2, 1, 9320, True),
    ]  # fmt: skip
    assert row(manager, "X-1")[2] == f"{float(Fraction(1001, 7)):.5f}"


def test_by_site(bolts, manager):
    shelf("N1", site("NS"))
    things.make_place("VAN", PlaceKind.VAN, site=None)
    carried = {"van": "VAN", "to_site": "NS", "lines": [{"item": value_item("B"), "amount": 10, "from_place": "R1"}]}
    sent = manager.send("transfer-notes", carried | at(2))
    assert sent.status_code == 201, sent.content
    # In the van it is at neither site, and owned: 20 of 30 are left at TS, and all 30 are worth what they were.
    assert [[one["amount"] for one in value(manager, site=code)["rows"]] for code in ("TS", "NS")] == [[20], []]
    assert row(manager, "B")[:2] == (30, 13200)
    taken = {"lines": [{"line": 1, "amount": 10, "to_place": "N1"}]}
    came = manager.send(f"transfer-notes/{sent.json()['note']}/receipts", taken | at(2))
    assert came.status_code == 201, came.content
    assert [row(manager, "B", site=code)[:2] for code in ("TS", "NS")] == [(20, 8800), (10, 4400)]
    assert manager.read("stock-value", site="nowhere").json()["code"] == "not-found"


def test_a_job_is_charged_at_its_bench_and_credited_at_the_same_cost(rebuild):
    bolt = ReceiptLine.objects.get(item__part__number="NEW-BOLT")
    rebuild.did(rebuild.manager, "late-invoices", {"line": bolt.pk, "coins": 4003, "occurred_at": NOON.isoformat()})
    rebuild.booked().held().picked().looked_at()

    def costs():
        body = rebuild.technician.read("jobs/J-1/costs").json()
        found = [one for one in body["items"] if one["part"] == "NEW-BOLT"]
        assert body["net_coins"] == body["issued_coins"] - body["credited_coins"]
        assert value(rebuild.manager)["adds_up"]
        return found[0] if found else None

    assert costs() is None  # the cart is not the bench
    handed = {"received_by": rebuild.technician.person.username}
    rebuild.did(rebuild.storekeeper, f"pick-lists/{rebuild.said['held']['pick_list']}/handovers", handed)
    row = costs()
    # 40.03 for 20: ten of them 20.01, the coin over stays with the last
    assert (row["issued"], row["net_coins"], row["coins"]["still_here"], row["unknown"]) == (10, 2001, 2001, 0)
    item = rebuild.item("NEW-BOLT")
    scrapped = {"item": item, "amount": "2 EA", "reason": "thread torn", "who_pays": "shop"}
    rebuild.did(rebuild.technician, "jobs/J-1/scraps", scrapped)
    back = {"returns": [{"item": item, "amount": 3, "bag_sealed": True, "to_place": "R1"}]}
    rebuild.did(rebuild.technician, "jobs/J-1/returns", back)
    row = costs()
    assert (row["returned"], row["coins"]["scrapped"]) == (3, 400)
    assert row["net_coins"] == 2001 - row["coins"]["returned"] == 2001 - 600
    assert row["coins"]["still_here"] == 2001 - 400 - 600
    # Whatever the invoice says later, the job keeps its cost.
    rebuild.did(rebuild.manager, "late-invoices", {"line": bolt.pk, "coins": 9000})
    assert costs()["net_coins"] == 1401
    assert rebuild.technician.read("jobs/J-9/costs").json()["code"] == "not-found"


@pytest.mark.parametrize("many", [1, 3])
def test_the_queries_do_not_grow_with_the_rows(many, manager, django_assert_max_num_queries):
    quarantine("Q1")
    for number in range(many):
        PartFactory(number=f"P-{number}", tracked_by="nothing")
        (line,) = came(ReceiveLine(f"P-{number}", 5))
        manager.send("late-invoices", {"line": line["line"], "coins": 500})
    for path, most in (("stock-value", 16), ("late-invoices", 16)):
        with django_assert_max_num_queries(most):
            assert manager.read(path).status_code == 200
