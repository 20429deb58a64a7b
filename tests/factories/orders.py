"""Orders and deliveries for them, for tests."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from inventory.models import ReceiptLine
from inventory.queries.orders import OrderRow, order, rendered_orders
from inventory.services.claims import ReturnLine, enter_credit, reject, return_to_supplier
from inventory.services.orders import EndIn, OrderLineIn, close_lines, place_order
from inventory.services.receive import ReceiveLine, receive
from inventory.services.scrap import scrap
from inventory.services.transfer import ReleaseLine, release_quarantine
from tests.factories.papers import certified, inspected, planned
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, quarantine, shelf, stamp


def ordered(*lines: OrderLineIn, number: str = "PO-1", at: datetime = NOON - timedelta(days=10)) -> str:
    """An order to the maker; its number."""
    place_order(actor=PersonFactory(), stamp=stamp(at), order=number, supplier=SupplierFactory().code, lines=lines)
    return number


def came(*lines: ReceiveLine, order: str = "", at: datetime = NOON, **more: Any) -> list[dict[str, Any]]:
    """A delivery from the maker to shelf R1, what may not lie there to Q1; its lines."""
    quarantine("Q1")
    done = receive(
        actor=more.pop("actor", None) or PersonFactory(),
        stamp=stamp(at),
        supplier=SupplierFactory().code,
        place=shelf("R1").code,
        quarantine="Q1",
        order=order,
        lines=lines,
        **more,
    )
    return list(done.body["lines"])


def stands(number: str = "PO-1", on: date = date(2025, 1, 15)) -> OrderRow:
    """The order as it stands, promises seen on a day."""
    return rendered_orders([order(number)], on)[0]


def numbers(row: OrderRow) -> list[tuple[int, ...]]:
    """Of each line: ordered, delivered, accepted, rejected, in inspection, over, given up, outstanding."""
    return [
        (
            one.ordered,
            one.delivered,
            one.accepted,
            one.rejected,
            one.in_inspection,
            one.over,
            one.given_up,
            one.outstanding,
        )
        for one in row.lines
    ]


def rejected(line: int, amount: int = 1, **more: Any) -> int:
    """A claim about a delivered line that lies in Q1; its number."""
    words = {"place": "Q1", "reason": "flange chipped", "photos": ["claims/1.jpg", "claims/2.jpg"]} | more
    done = reject(actor=PersonFactory(), stamp=stamp(), line=line, amount=amount, **words)
    return int(done.body["rejects"][0])


def sent_back(claims: Iterable[int], coins: int = 9_000, at: datetime = NOON) -> list[int]:
    """What these claims are about goes back from Q1; the numbers of the returned lines."""
    rows = [ReceiptLine.objects.get(rejects=claim) for claim in claims]
    lines = [
        ReturnLine(row.item_id, "Q1", row.rejects.get(pk=claim).amount, coins, reject=claim)
        for row, claim in zip(rows, claims, strict=True)
    ]
    done = return_to_supplier(
        actor=PersonFactory(), stamp=stamp(at), supplier=SupplierFactory().code, note="RN-1", lines=lines
    )
    return [int(row["line"]) for row in done.body["lines"]]


def every_row() -> None:
    """A row in every table of orders, deliveries for them, claims, certificates and inspections, by real acts."""
    part = PartFactory(number="PO-RING").number
    ordered(OrderLineIn(part, amount=15, promised_on=NOON.date()), OrderLineIn(part, amount=5), number="PO-ROWS")
    close_lines(actor=PersonFactory(), stamp=stamp(), order="PO-ROWS", lines=[EndIn(2)], reason="none left")
    _, over = came(ReceiveLine(part, 20, lot="A"), order="PO-ROWS")
    (line,) = sent_back([rejected(over["line"], 2)])
    enter_credit(actor=PersonFactory(), stamp=stamp(), line=line, what="credited", coins=100)
    kept = [ReleaseLine(over["item"], 2, "Q1", "R1")]
    release_quarantine(actor=PersonFactory(), stamp=stamp(), lines=kept, note="we keep them")
    scrap(
        actor=PersonFactory(), stamp=stamp(), place="Q1", item_id=over["item"], amount=1, reason="wet", who_pays="shop"
    )
    certified("B", lots=[ReceiptLine.objects.get(pk=over["line"]).item.lot_id])
    planned(part)
    came(ReceiveLine(part, 20, lot="C"))
    row = ReceiptLine.objects.latest("pk")
    inspected(row.receipt_id, row.item.lot_id)
