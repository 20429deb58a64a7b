"""Rows of an act that do not count once it is taken back, and what was done since that rests on them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from inventory.models import (
    Accepted,
    Act,
    Credit,
    LotInspection,
    OrderLineEnd,
    SoldReturn,
    SupplierReturnLine,
    TransferExplained,
    TransferTaking,
)
from inventory.queries.deliveries import standing_lines


@dataclass(frozen=True, slots=True)
class Undone:
    """How many such rows the act has, and in words what keeps it from being taken back; "" for nothing."""

    rows: int = 0
    built_on: str = ""


def undone_with(act: Act) -> Undone:
    """By the kind of the act: no other kind has such rows. Two queries at most, none for other kinds."""
    look = _KINDS.get(act.kind)
    return look(act) if look else Undone()


def _order(act: Act) -> Undone:
    came = standing_lines().filter(order_line__order__act=act).exists()
    ended = OrderLineEnd.objects.filter(line__order__act=act, act__corrected_by__isnull=True).exists()
    words = "something was delivered for it" if came else "lines of it were closed" if ended else ""
    return Undone(1, words)


def _reject(act: Act) -> Undone:
    gone = SupplierReturnLine.objects.filter(reject__act=act, sent__act__corrected_by__isnull=True).exists()
    return Undone(1, "what was rejected went back to the supplier" if gone else "")


def _returned(act: Act) -> Undone:
    settled = Credit.objects.filter(line__sent__act=act, act__corrected_by__isnull=True).exists()
    return Undone(1, "the supplier settled some of it" if settled else "")


def _inspected(act: Act) -> Undone:
    row = LotInspection.objects.get(act=act)
    released = Accepted.objects.filter(
        line__receipt=row.receipt_id, line__item__lot=row.lot_id, act__corrected_by__isnull=True
    ).exists()
    return Undone(1, "some of the lot was released since" if released else "")


def _sent(act: Act) -> Undone:
    signed = TransferTaking.objects.filter(note__act=act, act__corrected_by__isnull=True).exists()
    explained = TransferExplained.objects.filter(line__note__act=act, act__corrected_by__isnull=True).exists()
    return Undone(1, "it was taken in" if signed else "some of it was explained" if explained else "")


def _taken_in(act: Act) -> Undone:
    rows = TransferExplained.objects.filter(
        line__note__takings__act=act, act__corrected_by__isnull=True, act_id__gt=act.pk
    )
    return Undone(1, "what did not come was explained" if rows.exists() else "")


def _sold(act: Act) -> Undone:
    back = SoldReturn.objects.filter(line__off_job__act=act, act__corrected_by__isnull=True).exists()
    return Undone(1, "some of it was brought back" if back else "")


def _beside(act: Act) -> Undone:
    return Undone(1)


_KINDS: Mapping[str, Callable[[Act], Undone]] = {
    "order": _order,
    "acknowledge order": _beside,
    "close order lines": _beside,
    "enter invoice": _beside,
    "receive": _reject,
    "reject": _reject,
    "return to supplier": _returned,
    "enter credit": _beside,
    "enter certificate": _beside,
    "lay certificate beside lots": _beside,
    "set sample plan": _beside,
    "inspect lot": _inspected,
    "send to another site": _sent,
    "take in from another site": _taken_in,
    "explain what did not come": _beside,
    "sell at the counter": _sold,
}
