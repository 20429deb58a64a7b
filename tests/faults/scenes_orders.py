"""A stage for each act of purchase orders, deliveries for them and claims on suppliers."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.models import Item, ReceiptLine
from inventory.services.certificates import enter_certificate, lay_certificate
from inventory.services.claims import ReturnLine, enter_credit, reject, return_to_supplier
from inventory.services.inspections import inspect_lot, set_sample_plan
from inventory.services.invoices import enter_invoice
from inventory.services.orders import EndIn, OrderLineIn, PromiseIn, acknowledge, close_lines, place_order
from inventory.services.receive import ReceiveLine, receive
from inventory.services.transfer import ReleaseLine, release_quarantine
from tests.factories.orders import came, ordered, rejected, sent_back
from tests.factories.papers import PDF, certified, planned
from tests.factories.stores import PartFactory, SupplierFactory, quarantine, shelf
from tests.faults.scenes import fresh, scene


def _ordered(amount: int = 15) -> tuple[str, str]:
    """An order for so many rings; its number and the part's."""
    part = PartFactory(number=fresh("O-"))
    number = fresh("PO-")
    ordered(OrderLineIn(part.number, amount=amount, promised_on=date(2025, 1, 20)), number=number)
    return number, part.number


def _over() -> dict[str, Any]:
    """Five rings that wait in Q1, of twenty that came for fifteen."""
    number, part = _ordered()
    return came(ReceiveLine(part, 20, lot="A"), order=number)[1]


@scene(place_order)
def rings_for_a_job() -> dict[str, Any]:
    part = PartFactory(number=fresh("O-"))
    lines = [
        OrderLineIn(part.number, packs=20, total_coins=4_200, promised_on=date(2025, 1, 20), job="J1"),
        OrderLineIn(part.number, amount="5 EA"),
    ]
    return {"order": fresh("PO-"), "supplier": SupplierFactory().code, "lines": lines}


@scene(acknowledge)
def a_later_day() -> dict[str, Any]:
    return {"order": _ordered()[0], "lines": [PromiseIn(1, date(2025, 1, 30))], "note": "by telephone"}


@scene(close_lines)
def the_rest_will_not_come() -> dict[str, Any]:
    return {"order": _ordered()[0], "lines": [EndIn(1, 4)], "reason": "none left"}


@scene(receive)
def more_than_ordered_and_one_set_rejected() -> dict[str, Any]:
    number, part = _ordered()
    shelf("R1")
    quarantine("Q1")
    lines = [
        ReceiveLine(part, 20, lot="A", total_coins=2_000),
        ReceiveLine(
            PartFactory(number=fresh("S-"), tracked_by="set", unit="SET").number,
            1,
            serial=fresh("S"),
            rejected="chipped",
        ),
        ReceiveLine(fresh("X-"), 3, lot="A", to_be_sorted="a ring without a label"),
    ]
    return {"supplier": SupplierFactory().code, "place": "R1", "quarantine": "Q1", "order": number, "lines": lines}


@scene(release_quarantine)
def what_was_over_is_kept() -> dict[str, Any]:
    return {"lines": [ReleaseLine(_over()["item"], 4, "Q1", "R1")], "note": "we keep them"}


@scene(reject)
def some_of_it_had_been_accepted() -> dict[str, Any]:
    number, part = _ordered()
    (line,) = came(ReceiveLine(part, 10, lot="A"), order=number)
    words = {"reason": "torn", "photos": ["claims/1.jpg"], "quarantine": "Q1"}
    return {"line": line["line"], "amount": 3, "place": "R1", **words}


@scene(return_to_supplier)
def with_a_note() -> dict[str, Any]:
    line = _over()
    claim = rejected(line["line"], 2)
    lines = [ReturnLine(line["item"], "Q1", 2, 900, reject=claim), ReturnLine(line["item"], "R1", 1, 450)]
    return {"supplier": SupplierFactory().code, "note": "RN-1", "lines": lines}


@scene(enter_credit)
def half_of_it() -> dict[str, Any]:
    (line,) = sent_back([rejected(_over()["line"], 2)], coins=900)
    return {"line": line, "what": "credited", "coins": 450}


@scene(enter_certificate)
def of_another_lot() -> dict[str, Any]:
    part = PartFactory(number=fresh("O-"))
    (line,) = came(ReceiveLine(part.number, 5, lot="A"))
    kept = {"filename": "c.pdf", "content_type": "application/pdf", "content": PDF + fresh(" ").encode()}
    lots = [Item.objects.get(pk=line["item"]).lot_id]
    words = {"number": fresh("C-"), "dated_on": date(2025, 1, 2), "printed_lots": ["B"], "lots": lots}
    return {"supplier": SupplierFactory().code} | words | kept


@scene(lay_certificate)
def beside_a_bag_on_the_shelf() -> dict[str, Any]:
    part = PartFactory(number=fresh("O-"))
    (line,) = came(ReceiveLine(part.number, 5, lot="A"))
    certificate = certified("B", number=fresh("C-"))["certificate"]
    return {"certificate": certificate, "lots": [Item.objects.get(pk=line["item"]).lot_id]}


@scene(receive)
def with_a_certificate() -> dict[str, Any]:
    number = fresh("C-")
    certified("A", number=number)
    shelf("R1")
    lines = [ReceiveLine(PartFactory(number=fresh("O-")).number, 5, lot="A", certificate=number)]
    return {"supplier": SupplierFactory().code, "place": "R1", "lines": lines}


@scene(set_sample_plan)
def five_of_each_lot() -> dict[str, Any]:
    words = {"supplier": SupplierFactory().code, "checks": "section, hardness"}
    return {"part": PartFactory(number=fresh("O-")).number, "sample": 5, "accept": 1} | words


@scene(inspect_lot)
def two_of_five_are_bad() -> dict[str, Any]:
    part = PartFactory(number=fresh("O-"))
    planned(part.number)
    (line,) = came(ReceiveLine(part.number, 20, lot="A"))
    receipt = ReceiptLine.objects.get(pk=line["line"]).receipt_id
    lot = Item.objects.get(pk=line["item"]).lot_id
    return {"receipt": receipt, "lot_id": lot, "sampled": 5, "bad": 2, "results": ["section 3.40 mm"]}


@scene(enter_invoice)
def an_invoice_after_the_delivery() -> dict[str, Any]:
    part = PartFactory(number=fresh("O-"))
    return {"line": came(ReceiveLine(part.number, 20, lot="A"))[0]["line"], "coins": 2_000, "note": "R-1"}
