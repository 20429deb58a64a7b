"""Damages of orders, deliveries for them and claims: each returns what the audit has to find."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from inventory.models import Credit, OrderLine, OrderLineEnd, ReceiptLine, Reject, SupplierReturnLine
from inventory.services.orders import OrderLineIn
from inventory.services.receive import ReceiveLine
from tests.factories.damage import execute, lift_guards
from tests.factories.orders import came, ordered, rejected, sent_back
from tests.factories.papers import PDF, certified
from tests.factories.stores import PartFactory

Finding = tuple[str, str, int | str]


def _delivered() -> ReceiptLine:
    """Fifteen ordered, twenty came: five wait in quarantine, of which three are rejected and two of these went back."""
    PartFactory(number="O-1")
    PartFactory(number="O-2")
    ordered(OrderLineIn("O-1", amount=15), OrderLineIn("O-2", amount=1))
    _, over = came(ReceiveLine("O-1", 20, lot="A"), order="PO-1")
    claims = [rejected(over["line"], 2), rejected(over["line"], 1)]
    sent_back(claims[:1])
    return ReceiptLine.objects.get(pk=over["line"])


def _another_part(shop: Any) -> list[Finding]:
    row, other = _delivered(), OrderLine.objects.get(line=2)
    execute("UPDATE inventory_receiptline SET order_line_id = %s WHERE id = %s", [other.pk, row.pk])
    return [("order-line-delivered-is-its-own", "receiptline", row.pk)]


def _rejected_beyond(after: bool) -> Callable[[Any], list[Finding]]:
    def damage(shop: Any) -> list[Finding]:
        row = _delivered()
        act = row.rejects.order_by("pk")[0].act
        Reject.objects.create(line=row, act=act, amount=1 if after else 3, after=after, reason="again")
        return [("delivered-is-accepted-rejected-or-in-inspection", "receiptline", row.pk)]

    return damage


def _accepted_though_never_aside(shop: Any) -> list[Finding]:
    row = _delivered()
    first = row.receipt.lines.get(aside__isnull=True)
    first.accepted.create(act=row.receipt.act, amount=1)
    return [("delivered-is-accepted-rejected-or-in-inspection", "receiptline", first.pk)]


def _given_up_beyond(shop: Any) -> list[Finding]:
    row = _delivered()
    OrderLineEnd.objects.create(line_id=row.order_line_id, act=row.receipt.act, amount=16)
    return [("given-up-within-ordered", "orderline", row.order_line_id or 0)]


def _less_rejected_than_returned(shop: Any) -> list[Finding]:
    claim = _delivered().rejects.order_by("pk")[0]
    lift_guards("inventory_reject")
    execute("UPDATE inventory_reject SET amount = 1 WHERE id = %s", [claim.pk])
    return [("returned-within-rejected", "reject", claim.pk)]


def _less_returned_than_moved(shop: Any) -> list[Finding]:
    _delivered()
    line = SupplierReturnLine.objects.get()
    lift_guards("inventory_supplierreturnline")
    execute("UPDATE inventory_supplierreturnline SET amount = 1 WHERE id = %s", [line.pk])
    return [("returned-line-was-moved", "supplierreturnline", line.pk)]


def _credited_beyond(shop: Any) -> list[Finding]:
    _delivered()
    line = SupplierReturnLine.objects.get()
    Credit.objects.create(line=line, act=line.sent.act, what="credited", coins=line.coins)
    Credit.objects.create(line=line, act=line.sent.act, what="refused", coins=1)
    return [("credit-within-claim", "supplierreturnline", line.pk)]


def _another_byte(shop: Any) -> list[Finding]:
    digest = certified("A")["sha256"]
    lift_guards("inventory_certificatefile")
    execute("UPDATE inventory_certificatefile SET content = %s WHERE sha256 = %s", [PDF + b"!", digest])
    return [("certificate-file-is-as-entered", "certificatefile", digest)]


ORDER_DAMAGES: list[tuple[str, Callable[[Any], list[Finding]]]] = [
    ("order-line-delivered-is-its-own", _another_part),
    ("delivered-is-accepted-rejected-or-in-inspection", _rejected_beyond(after=False)),
    ("delivered-is-accepted-rejected-or-in-inspection", _rejected_beyond(after=True)),
    ("delivered-is-accepted-rejected-or-in-inspection", _accepted_though_never_aside),
    ("given-up-within-ordered", _given_up_beyond),
    ("returned-within-rejected", _less_rejected_than_returned),
    ("returned-line-was-moved", _less_returned_than_moved),
    ("credit-within-claim", _credited_beyond),
    ("certificate-file-is-as-entered", _another_byte),
]
