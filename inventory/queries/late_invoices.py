"""Lines of deliveries whose invoice is awaited, and where the differences of those went that were entered."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Q

from inventory.models import InvoiceTotal, ReceiptLine
from inventory.queries.days import shop_day
from inventory.queries.value_points import differences_up_to
from inventory.queries.value_walk import AsOf, expected

Body = dict[str, Any]


def late_invoices(on: date) -> Body:
    """What is awaited on a day, the oldest first, and what was entered up to then. JSON-ready; twenty queries at most.

    {"on", "waiting": [{line, receipt, supplier, note, received_on, days, part, amount, base, counts_as_coins}], "entered": [{line, part,
    invoice, entered_on, was_coins, coins, difference_coins, on_hand_coins, price_difference_coins}], "price_difference_coins"}
    `counts_as_coins`: what the order says; None: in suspense.
    """
    as_of = AsOf.of(on, None)
    told = [*_entered(as_of)]
    return {
        "on": on,
        "waiting": _waiting(as_of, on),
        "entered": told,
        "price_difference_coins": sum(one["price_difference_coins"] for one in told),
    }


def _waiting(as_of: AsOf, on: date) -> list[Body]:
    entered = InvoiceTotal.objects.filter(as_of.acts(), line=OuterRef("pk"))
    rows = (
        ReceiptLine.objects.filter(as_of.acts("receipt__act__"), Q(total_coins__isnull=True) | Q(total_coins=0))
        .exclude(Exists(entered))
        .select_related("receipt__act", "receipt__supplier", "item__part", "order_line")
        .order_by("receipt__act__occurred_at", "pk")
    )
    return [
        {
            "line": row.pk,
            "receipt": row.receipt_id,
            "supplier": row.receipt.supplier.code,
            "note": row.receipt.note,
            "received_on": shop_day(row.receipt.act.occurred_at),
            "days": (on - shop_day(row.receipt.act.occurred_at)).days,
            "part": row.item.part.number,
            "amount": row.amount,
            "base": row.item.base,
            "counts_as_coins": _counts_as(row),
        }
        for row in rows
    ]


def _counts_as(row: ReceiptLine) -> int | None:
    order = row.order_line
    return (
        expected(row.amount, row.total_coins, order.total_coins if order else None, order.amount if order else None)
        or None
    )


def _entered(as_of: AsOf) -> list[Body]:
    rows = InvoiceTotal.objects.filter(as_of.acts()).select_related("act", "line__item__part")
    of_act = {row.act_id: row for row in rows}
    return [
        {
            "line": one.line,
            "part": of_act[one.act].line.item.part.number,
            "invoice": of_act[one.act].note,
            "entered_on": shop_day(of_act[one.act].act.occurred_at),
            "was_coins": one.was,
            "coins": one.coins,
            "difference_coins": one.coins - (one.was or 0),
            "on_hand_coins": one.on_hand,
            "price_difference_coins": one.gone,
        }
        for one in (differences_up_to(as_of) if of_act else ())
    ]
