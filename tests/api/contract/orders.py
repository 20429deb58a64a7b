"""One good request for each operation of purchase orders, deliveries for them, and claims on suppliers."""

from __future__ import annotations

from base64 import b64encode

from inventory.models import Item, Person, ReceiptLine
from inventory.services.orders import OrderLineIn
from inventory.services.receive import ReceiveLine
from tests.api.contract.rebuilds import Make
from tests.api.contract.shops import Good
from tests.factories.orders import came, ordered, rejected, sent_back
from tests.factories.papers import PDF, certified, inspected, planned
from tests.factories.stores import PartFactory


def _ordered() -> Good:
    PartFactory(number="PO-RING")
    return Good({"number": ordered(OrderLineIn("PO-RING", amount=15, job="J-1"))})


def _over() -> int:
    """The line of a delivery of which five wait."""
    _ordered()
    return int(came(ReceiveLine("PO-RING", 20, lot="A"), order="PO-1")[1]["line"])


def _placed(actor: Person) -> Good:
    PartFactory(number="PO-RING")
    line = {"part": "PO-RING", "packs": 20, "total_coins": 4_200, "promised_on": "2025-02-01", "job": "J-1"}
    return Good(body={"order": "PO-1", "supplier": "maker", "occurred_at": "2025-01-15T12:00:00Z", "lines": [line]})


def _listed(actor: Person) -> Good:
    _over()
    return Good(query={"open": "true", "part": "PO-RING"})


def _promised(actor: Person) -> Good:
    good = _ordered()
    return Good(good.path, body={"lines": [{"line": 1, "promised_on": "2025-02-01"}], "note": "by telephone"})


def _closed(actor: Person) -> Good:
    good = _ordered()
    return Good(good.path, body={"lines": [{"line": 1, "amount": 4}], "reason": "none left"})


def _asides(actor: Person) -> Good:
    _over()
    return Good(query={"waiting": "true", "why": "over"})


def _rejecting(actor: Person) -> Good:
    words = {"place": "Q1", "reason": "torn", "photos": ["claims/1.jpg"]}
    return Good(body={"line": _over(), "amount": "2 EA", **words})


def _rejects(actor: Person) -> Good:
    rejected(_over(), 2)
    return Good(query={"order": "PO-1"})


def _returned(actor: Person) -> Good:
    _ordered()
    line = came(ReceiveLine("PO-RING", 20, lot="A"), order="PO-1")[1]
    claim = rejected(line["line"], 2)
    sent = {"item": line["item"], "place": "Q1", "amount": 2, "coins": 900, "reject": claim}
    return Good(body={"supplier": "maker", "note": "RN-1", "lines": [sent]})


def _returns(actor: Person) -> Good:
    sent_back([rejected(_over(), 2)])
    return Good(query={"supplier": "maker"})


def _credited(actor: Person) -> Good:
    (line,) = sent_back([rejected(_over(), 2)])
    return Good({"number": line}, body={"what": "refused", "coins": 9_000, "reason": "it was fitted"})


def _awaited(actor: Person) -> Good:
    sent_back([rejected(_over(), 2)])
    return Good(query={"on": "2025-06-01"})


def _records(actor: Person) -> Good:
    rejected(_over(), 2)
    return Good(query={"on": "2025-06-01", "since": "2025-01-01", "supplier": "maker"})


def _lot(code: str = "A") -> int:
    """Five rings of a lot on the shelf; the lot."""
    PartFactory(number="PO-RING")
    (line,) = came(ReceiveLine("PO-RING", 5, lot=code))
    return int(Item.objects.get(pk=line["item"]).lot_id or 0)


def _certificate(actor: Person) -> Good:
    file = {"filename": "c.pdf", "content_type": "application/pdf", "content": b64encode(PDF).decode()}
    words = {"supplier": "maker", "number": "C-1", "dated_on": "2025-01-02", "printed_lots": ["B"], "lots": [_lot()]}
    return Good(body=words | file)


def _file(actor: Person) -> Good:
    return Good({"number": certified("A")["certificate"]})


def _laid(actor: Person) -> Good:
    return Good({"number": certified("B")["certificate"]}, body={"lots": [_lot()]})


def _certificates(actor: Person) -> Good:
    certified("A", lots=(_lot(),))
    return Good(query={"part": "PO-RING", "lot": "A"})


def _plan(actor: Person) -> Good:
    PartFactory(number="PO-RING")
    return Good(body={"part": "PO-RING", "sample": 5, "accept": 1, "checks": "section, hardness"})


def _sampled(bad: int) -> Good:
    PartFactory(number="PO-RING")
    planned("PO-RING")
    (line,) = came(ReceiveLine("PO-RING", 20, lot="A"))
    row = ReceiptLine.objects.select_related("item").get(pk=line["line"])
    return Good(body={"receipt": row.receipt_id, "lot_id": row.item.lot_id, "sampled": 5, "bad": bad})


def _inspections(actor: Person) -> Good:
    its = _sampled(0).body
    inspected(its["receipt"], its["lot_id"])
    return Good(query={"part": "PO-RING"})


def _invoiced(actor: Person) -> Good:
    PartFactory(number="PO-RING")
    (line,) = came(ReceiveLine("PO-RING", 20, lot="A"))
    return Good(body={"line": line["line"], "coins": 4_000, "note": "R-1"})


def _late(actor: Person) -> Good:
    _invoiced(actor)
    return Good(query={"on": "2025-06-01"})


GOOD_ORDERS: dict[str, Make] = {
    "purchase_orders_list": _listed,
    "purchase_orders_create": _placed,
    "purchase_orders_read": lambda actor: _ordered(),
    "purchase_orders_acknowledgements_create": _promised,
    "purchase_orders_closings_create": _closed,
    "set_asides_list": _asides,
    "rejects_list": _rejects,
    "rejects_create": _rejecting,
    "supplier_returns_list": _returns,
    "supplier_returns_create": _returned,
    "supplier_returns_credits_create": _credited,
    "credits_awaited_read": _awaited,
    "supplier_records_read": _records,
    "late_invoices_read": _late,
    "late_invoices_create": _invoiced,
    "stock_value_read": lambda actor: Good(query={"on": "2025-06-01", "known": "2025-06-01", "site": "TS"}),
    "certificates_list": _certificates,
    "certificates_create": _certificate,
    "certificates_file_read": _file,
    "certificates_lots_create": _laid,
    "sample_plans_list": lambda actor: Good(query={"part": _plan(actor).body["part"]}),
    "sample_plans_create": _plan,
    "lot_inspections_list": _inspections,
    "lot_inspections_create": lambda actor: _sampled(2),
}
