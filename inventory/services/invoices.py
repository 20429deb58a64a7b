"""Invoices: what a supplier charged for a line of a delivery, entered when it is known. What was issued keeps its cost."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.quantities import MAX_BASE_AMOUNT
from inventory.models import Act, InvoiceTotal, Person
from inventory.queries.deliveries import standing_lines
from inventory.queries.value_walk import expected
from inventory.services import lookup
from inventory.services.run import Body, Done, Stamp, run


def enter_invoice(*, actor: Person, stamp: Stamp, line: int, coins: int, note: str = "", reason: str = "") -> Done:
    """The supplier charged so many coins for a whole line of a delivery; what was entered for it before no longer counts.

    coins  0 for what is free of charge, with its reason: it leaves suspense at no cost
    Outcome: {"line", "receipt", "part", "amount", "base", "coins", "was", "difference_coins", "note", "reason"}; `was`: what it counted as
    before, None where it was in suspense. Where the difference went, `late-invoices` says.
    Raises DomainError "not-found", "amount-negative", "amount-too-large", "reason-missing", "done-already".
    """
    request = {"line": line, "coins": coins, "note": note, "reason": reason}

    def work(act: Act) -> Body:
        locks.name("invoice", str(line))
        row = standing_lines().select_related("item__part", "order_line").filter(pk=line).first()
        if row is None:
            raise DomainError("not-found", f"There is no line {line} of a delivery.", line=line)
        _check(line, coins, reason)
        earlier = InvoiceTotal.objects.filter(line=row, act__corrected_by__isnull=True)
        newest = earlier.order_by("-act__occurred_at", "-act_id").first()
        order = row.order_line
        was = (
            newest.coins
            if newest
            else expected(
                row.amount, row.total_coins, order.total_coins if order else None, order.amount if order else None
            )
        )
        if newest is not None and newest.coins == coins:
            raise DomainError("done-already", f"Line {line} is entered with that total already.", line=line)
        InvoiceTotal.objects.create(act=act, line=row, coins=coins, note=note)
        return {
            "line": line,
            "receipt": row.receipt_id,
            "part": row.item.part.number,
            "amount": row.amount,
            "base": row.item.base,
            "coins": coins,
            "was": was or None,
            "difference_coins": coins - (was or 0),
            "note": note,
            "reason": reason,
        }

    return run("enter invoice", work, actor=actor, stamp=stamp, request=request, reason=reason, subject=note[:80])


def _check(line: int, coins: int, reason: str) -> None:
    if coins < 0:
        raise DomainError("amount-negative", f"A total of {coins} is below nothing.", total=coins)
    if coins > MAX_BASE_AMOUNT:
        raise DomainError("amount-too-large", f"{coins} coins are more than any invoice has.", coins=coins)
    if coins == 0:
        lookup.need_reason(reason, f"Why is line {line} free of charge?")
