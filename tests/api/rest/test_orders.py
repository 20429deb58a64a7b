"""Purchase orders, deliveries for them and claims over HTTP."""

import pytest

from inventory.models import Movement
from inventory.services.orders import OrderLineIn
from inventory.services.receive import ReceiveLine
from tests.factories.orders import came, ordered, rejected, sent_back
from tests.factories.stores import NOON, PartFactory, SupplierFactory, quarantine, shelf, site

pytestmark = pytest.mark.django_db
AT = {"occurred_at": "2025-01-15T12:00:00Z"}


@pytest.fixture
def shop():
    """A shelf, a quarantine, a supplier, rings and sets."""
    shelf("R1")
    quarantine("Q1")
    SupplierFactory()
    PartFactory(number="O-1", life={"from": "cure", "years": 7})
    PartFactory(number="SET", tracked_by="set", unit="SET", label_window={"weight_mg": [410_000, 420_000]})


def line(client, number="PO-1", at=0, **more):
    """A line of the order as it is read."""
    return client.read(f"purchase-orders/{number}", **more).json()["lines"][at]


def test_the_morning_of_two_deliveries(shop, manager, client_of):
    """20 rings ordered, 18 came, of two cure quarters; one set chipped. Worked example of the demo shop (invented)."""
    lines = [
        {"part": "O-1", "amount": "20 EA", "total_coins": 4_000, "promised_on": "2025-01-14", "job": "J-1"},
        {"part": "SET", "amount": 1},
    ]
    placed = manager.send(
        "purchase-orders", {"order": "PO/1", "supplier": "maker", "lines": lines, "occurred_at": "2025-01-02T09:00:00Z"}
    )
    assert placed.status_code == 201
    keeper = client_of("storekeeper")
    refused = keeper.send("purchase-orders", {"order": "PO-2", "supplier": "maker", "lines": lines[1:]})
    assert (refused.status_code, refused.json()["code"]) == (403, "not-allowed")
    delivery = {
        "supplier": "maker", "place": "R1", "quarantine": "Q1", "order": "PO/1",
        "lines": [
            {"part": "O-1", "amount": "14 EA", "lot": "A", "cure_code": "3Q24"},
            {"part": "O-1", "amount": "4 EA", "lot": "B", "cure_code": "4Q24"},
            {
                "part": "SET", "amount": 1, "serial": "S-1", "set_label": {"weight_mg": 415_000, "weighed": "with pin", "photo": "labels/7.jpg"},
                "rejected": "flange chipped", "photos": ["c/1.jpg", "c/2.jpg"],
            },
        ],
    }  # fmt: skip
    came_in = keeper.send("receipts", delivery | AT).json()
    assert [(one["lot"], one["place"], one["why"], one["on_order"]) for one in came_in["lines"]] == [
        ("A", "R1", "", True), ("B", "R1", "", True), ("", "Q1", "rejected", True),
    ]  # fmt: skip
    rings = line(manager, "PO%2F1", on="2025-01-15")
    assert (rings["delivered"], rings["accepted"], rings["rejected"], rings["in_inspection"]) == (18, 18, 0, 0)
    assert (rings["outstanding"], rings["promises_passed"], rings["late"]) == (2, ["2025-01-14"], True)
    (claim,) = manager.rows("rejects", supplier="maker")
    assert (claim["serial"], claim["photos"], claim["returned"]) == ("S-1", ["c/1.jpg", "c/2.jpg"], 0)
    back = {"item": claim["item"], "place": "Q1", "amount": 1, "coins": 40_000, "reject": claim["reject"]}
    sent = keeper.send("supplier-returns", {"supplier": "maker", "note": "RN-7", "lines": [back], **AT}).json()
    assert (sent["coins"], sent["lines"][0]["from"]) == (40_000, {"place": "Q1", "spot": "-"})
    path = f"supplier-returns/{sent['lines'][0]['line']}/credits"
    assert keeper.send(path, {"what": "credited", "coins": 1}).json()["code"] == "not-allowed"
    assert client_of("owner").send(path, {"what": "credited", "coins": 15_000}).json()["awaited_coins"] == 25_000
    awaited = manager.read("credits-awaited", on="2025-03-17").json()
    # 15 January and 61 days is 17 March
    assert (awaited["awaited_coins"], awaited["awaited"][0]["late"]) == (25_000, True)
    assert manager.read("credits-awaited", on="2025-03-16").json()["awaited"][0]["late"] is False
    told = manager.read("reminders", on="2025-03-17").json()["reminders"]
    assert [(one["job"], one["kind"], one["days"]) for one in told] == [
        ("J-1", "order past its promised day", 62), ("", "credit from supplier awaited", 1),
    ]  # fmt: skip
    assert "250.00" in told[1]["what"]


def test_what_is_rejected_after_it_was_shelved_and_what_is_set_aside(shop, manager, client_of):
    ordered(OrderLineIn("O-1", amount=15))
    first, over = came(ReceiveLine("O-1", 20, lot="A", cure_code="3Q24"), order="PO-1")
    (waits,) = manager.rows("set-asides", waiting="true")
    assert (waits["why"], waits["in_inspection"], waits["order"], waits["line"]) == ("over", 5, "PO-1", over["line"])
    body = {"line": first["line"], "amount": "2 EA", "place": "R1", "quarantine": "Q1", "reason": "torn"}
    assert client_of("storekeeper").send("rejects", body).json()["photo_missing"] is True
    assert client_of("technician").send("rejects", body).status_code == 403
    # The two torn ones are awaited again; what is over of line 1 answers that only when somebody releases it.
    assert (line(manager)["accepted"], line(manager)["in_inspection"], line(manager)["over"]) == (13, 5, 3)
    item = {"item": over["item"], "amount": 5, "from_place": "Q1", "to_place": "R1"}
    assert client_of("inspector").send("quarantine-releases", {"lines": [item], **AT}).status_code == 201
    assert manager.rows("set-asides", waiting="true") == []
    assert [one["accepted"] for one in manager.rows("set-asides", waiting="false")] == [5]
    again = client_of("inspector").send("quarantine-releases", {"lines": [item | {"amount": 1}], **AT})
    assert again.json()["lines"][0]["code"] == "rejected"


def test_a_line_that_is_closed_is_opened_again_by_a_correction(shop, manager):
    ordered(OrderLineIn("O-1", amount=15))
    closed = manager.send("purchase-orders/PO-1/closings", {"lines": [{"line": 1}], "reason": "none left"})
    assert closed.json()["lines"] == [{"line": 1, "part": "O-1", "given_up": 15, "outstanding": 0, "loans": []}]
    assert manager.rows("purchase-orders", open="true") == []
    again = manager.send("purchase-orders/PO-1/closings", {"lines": [{"line": 1}], "reason": "none left"})
    assert again.json()["lines"][0]["code"] == "line-done"
    act = closed["Location"].rsplit("/", 1)[1]
    assert manager.send(f"acts/{act}/corrections", {"reason": "they found some"}).status_code == 201
    assert [one["order"] for one in manager.rows("purchase-orders", open="true", supplier="maker")] == ["PO-1"]
    assert manager.rows("purchase-orders", open="false") == []
    promised = {"lines": [{"line": 1, "promised_on": "2025-02-01"}], "note": "AB-1"}
    assert manager.send("purchase-orders/PO-1/acknowledgements", promised).json()["lines"][0]["before"] is None
    assert line(manager, on="2025-02-01")["late"] is False
    assert line(manager, on="2025-02-02")["late"] is True


def test_sets_with_an_unlikely_label_and_numbers_nobody_knows_go_to_quarantine(shop, manager):
    delivery = {"supplier": "maker", "place": "R1", "occurred_at": AT["occurred_at"]}
    sets = [{"part": "SET", "amount": 1, "serial": "S-1", "set_label": {"weight_mg": 420_001, "weighed": "with pin"}}]
    refused = manager.send("receipts", delivery | {"lines": sets})
    assert (refused.status_code, refused.json()["lines"][0]["code"]) == (422, "quarantine-needed")
    unknown = [{"part": "X-9", "amount": 3, "lot": "A"}]
    refused = manager.send("receipts", delivery | {"lines": unknown})
    assert refused.json()["lines"][0]["code"] == "not-found"
    assert not Movement.objects.exists()
    unknown[0]["to_be_sorted"] = "a ring without a label"
    done = manager.send("receipts", delivery | {"lines": [*sets, *unknown], "quarantine": "Q1"}).json()
    assert [(one["place"], one["why"]) for one in done["lines"]] == [
        ("Q1", "label implausible"),
        ("Q1", "to be sorted"),
    ]
    assert [one["number"] for one in manager.rows("parts", to_be_sorted="true")] == ["X-9"]
    again = manager.send("receipts", delivery | {"lines": sets, "quarantine": "Q1"}).json()
    assert (again["lines"][0]["code"], again["lines"][0]["values"]["place"]) == ("serial-elsewhere", "Q1")


def test_a_window_of_a_label_is_entered_with_the_part(shop, manager):
    read = manager.read("parts/SET")
    changed = manager.send("parts/SET", {"label_window": {"grades": ["A"]}}, method="PATCH", if_match=read["ETag"])
    assert changed.json()["changed"]["label_window"]["to"] == {"grades": ["A"]}
    wrong = manager.send(
        "parts/SET", {"label_window": {"weight": [1, 2]}}, method="PATCH", if_match=manager.read("parts/SET")["ETag"]
    )
    assert (wrong.status_code, wrong.json()["code"]) == (422, "label-window-unreadable")


def test_one_order_is_shared_by_two_stores(shop, manager):
    """Twenty ordered once: twelve are delivered to the one store, eight to the other (common practice)."""
    shelf("N1", at=site("NS"))
    ordered(OrderLineIn("O-1", amount=20))
    for place, pieces in (("R1", 12), ("N1", 8)):
        body = {"supplier": "maker", "place": place, "order": "PO-1", **AT}
        came_in = manager.send(
            "receipts", body | {"lines": [{"part": "O-1", "amount": pieces, "lot": "A", "cure_code": "3Q24"}]}
        )
        assert came_in.status_code == 201, came_in.content
    assert (line(manager)["accepted"], line(manager)["outstanding"], line(manager)["over"]) == (20, 0, 0)
    assert {row["place"]: row["amount"]["amount"] for row in manager.rows("balances", part="O-1")} == {
        "R1": 12,
        "N1": 8,
    }


@pytest.mark.parametrize("many", [1, 3])
def test_the_queries_do_not_grow_with_the_lists(shop, manager, many, django_assert_num_queries):
    for number in range(many):
        ordered(OrderLineIn("O-1", amount=15, promised_on=NOON.date()), number=f"PO-{number}")
        _, over = came(ReceiveLine("O-1", 20, lot=f"L{number}", cure_code="3Q24"), order=f"PO-{number}")
        sent_back([rejected(over["line"], 2)])
    # token and person in one, the page, and what each list says it takes: its lines, deliveries, rejects, promises and the like
    for path, queries in (("purchase-orders", 9), ("set-asides", 5), ("rejects", 3), ("supplier-returns", 3)):
        with django_assert_num_queries(queries):
            assert len(manager.rows(path)) == many


def test_nonsense_is_named(shop, manager):
    ordered(OrderLineIn("O-1", amount=15))
    for path, body, code in (
        ("purchase-orders", {"order": "PO-1", "supplier": "maker", "lines": [{"part": "O-1", "amount": 1}]}, "order-known"),
        ("purchase-orders", {"order": "PO-2", "supplier": "maker", "lines": []}, "nothing-given"),
        ("purchase-orders", {"order": "PO-2", "supplier": "maker", "lines": [{"part": "O-1", "amount": True}]}, "fields-wrong"),
        ("purchase-orders/PO-9/closings", {"lines": [{"line": 1}], "reason": "x"}, "not-found"),
        ("purchase-orders/PO-1/closings", {"lines": [{"line": 1}], "reason": ""}, "fields-wrong"),
        ("rejects", {"line": 999, "amount": 1, "place": "R1", "reason": "x"}, "not-found"),
        ("supplier-returns", {"supplier": "maker", "note": "RN", "lines": []}, "nothing-given"),
        ("supplier-returns/999/credits", {"what": "paid", "coins": 1}, "fields-wrong"),
        ("supplier-returns/999/credits", {"what": "credited", "coins": 1}, "not-found"),
    ):  # fmt: skip
        assert manager.send(path, body).json()["code"] == code
    near = manager.read("purchase-orders/P0-1").json()
    assert (near["code"], near["values"]["near"]) == ("not-found", ["PO-1"])


def test_what_a_supplier_did(shop, manager):
    ordered(OrderLineIn("O-1", amount=15, promised_on=NOON.date()))
    came(ReceiveLine("O-1", 15, lot="A", cure_code="3Q24"), order="PO-1")
    read = manager.read("supplier-records", on="2025-01-16", since="2025-01-01").json()
    (row,) = read["suppliers"]
    assert (read["since"], row["supplier"], row["on_time_permille"]) == ("2025-01-01", "maker", 1000)
    # ordered on the 5th, usable on the 15th
    assert (row["lead_mean_days"], row["lead_median_days"], row["at_least"]) == ("10.0", 10, 0)
    assert "Kaplan-Meier" in row["estimator"]
    assert manager.read("supplier-records", supplier="rnaker").json()["code"] == "not-found"
    assert manager.read("supplier-records", since="2025-13-01").json()["code"] == "parameter-wrong"


def test_goods_without_a_claim_go_back_to_who_delivered_them(client_of, shop):
    (came_in,) = came(ReceiveLine("O-1", 15, lot="A", cure_code="3Q24"))
    SupplierFactory(code="other", name="Another")
    back = {"note": "RN", "lines": [{"item": came_in["item"], "place": "R1", "amount": 1, "coins": 5}]}
    keeper = client_of("storekeeper")
    answer = keeper.send("supplier-returns", back | {"supplier": "other"})
    assert (answer.status_code, answer.json()["lines"][0]["code"]) == (422, "wrong-supplier")
    assert answer.json()["lines"][0]["ways_out"][0] == "Send it back to maker."
    assert keeper.send("supplier-returns", back | {"supplier": "maker"}).status_code == 201
