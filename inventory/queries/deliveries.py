"""What became of delivered lines: accepted, rejected, in inspection; what is set aside, rejected, awaited as credit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet, Sum

from inventory.domain.receiving import Claim, Delivered, Settled, credit_late_from
from inventory.models import Accepted, AsideGone, Credit, ReceiptLine, Reject, SupplierReturnLine
from inventory.queries.days import last_of, shop_day


def standing_lines() -> QuerySet[ReceiptLine]:
    """Lines of deliveries that were not taken back."""
    return ReceiptLine.objects.filter(receipt__act__corrected_by__isnull=True)


def delivered(lines: Iterable[ReceiptLine]) -> dict[int, Delivered]:
    """What became of each line, by its id; the lines come with `aside`. Two queries, one more where something was set aside."""
    found = list(lines)
    ids = [one.pk for one in found]
    accepted: dict[int, int] = defaultdict(int)
    rows = Accepted.objects.filter(line__in=ids, act__corrected_by__isnull=True)
    for line, amount in rows.values_list("line_id", "amount"):
        accepted[line] += amount
    rejected: dict[tuple[int, bool], int] = defaultdict(int)
    bad = Reject.objects.filter(line__in=ids, act__corrected_by__isnull=True)
    for line, after, amount in bad.values_list("line_id", "after", "amount"):
        rejected[line, after] += amount
    gone: dict[int, int] = defaultdict(int)
    aside = [one.pk for one in found if hasattr(one, "aside")]
    lost = AsideGone.objects.filter(line__in=aside, act__corrected_by__isnull=True) if aside else ()
    for row in lost:
        gone[row.line_id] += row.amount
    return {
        one.pk: Delivered(
            amount=one.amount,
            aside=hasattr(one, "aside"),
            accepted=accepted[one.pk],
            rejected=rejected[one.pk, False],
            rejected_after=rejected[one.pk, True],
            gone=gone[one.pk],
        )
        for one in found
    }


@dataclass(frozen=True, slots=True)
class AsideRow:
    """A delivered line that waits for an answer in quarantine, whole base units; `order` is empty where nothing was ordered."""

    line: int
    receipt: int
    received_on: date
    supplier: str
    order: str
    order_line: int | None
    job: str
    part: str
    item: int
    lot: str
    serial: str
    amount: int
    base: str
    why: str
    words: str
    accepted: int
    rejected: int
    gone: int
    in_inspection: int


def asides() -> QuerySet[ReceiptLine]:
    """Lines of deliveries that were set aside."""
    return (
        standing_lines()
        .filter(aside__isnull=False)
        .select_related(
            "aside", "receipt__act", "receipt__supplier", "order_line__order", "item__part", "item__lot", "item__serial"
        )
    )


def rendered_asides(rows: Iterable[ReceiptLine]) -> list[AsideRow]:
    """Each with how much of it still waits. Three queries."""
    found = list(rows)
    states = delivered(found)
    return [
        AsideRow(
            line=one.pk,
            receipt=one.receipt_id,
            received_on=shop_day(one.receipt.act.occurred_at),
            supplier=one.receipt.supplier.code,
            order=one.order_line.order.number if one.order_line else "",
            order_line=one.order_line.line if one.order_line else None,
            job=one.order_line.job if one.order_line else "",
            part=one.item.part.number,
            item=one.item_id,
            lot=one.item.lot_code,
            serial=one.item.serial_number,
            amount=one.amount,
            base=one.item.base,
            why=one.aside.why,
            words=one.aside.words,
            accepted=states[one.pk].good,
            rejected=states[one.pk].bad,
            gone=states[one.pk].gone,
            in_inspection=states[one.pk].in_inspection,
        )
        for one in found
    ]


def waiting(item_ids: Iterable[int]) -> dict[int, list[tuple[int, int]]]:
    """Item → (line, in inspection) of what was set aside of it, oldest first. Four queries at most."""
    rows = list(
        standing_lines().filter(aside__isnull=False, item__in=set(item_ids)).select_related("aside").order_by("pk")
    )
    states = delivered(rows)
    found: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for one in rows:
        if states[one.pk].in_inspection > 0:
            found[one.item_id].append((one.pk, states[one.pk].in_inspection))
    return found


def rejects() -> QuerySet[Reject]:
    """What was rejected and not taken back, of deliveries that stand."""
    return Reject.objects.filter(
        act__corrected_by__isnull=True, line__receipt__act__corrected_by__isnull=True
    ).select_related(
        "act__actor",
        "line__receipt__supplier",
        "line__order_line__order",
        "line__item__part",
        "line__item__lot",
        "line__item__serial",
    )


@dataclass(frozen=True, slots=True)
class RejectRow:
    """A claim on a supplier: what was rejected, why, with its photos, and how much of it went back."""

    reject: int
    on: date
    by: str
    supplier: str
    order: str
    order_line: int | None
    part: str
    item: int
    lot: str
    serial: str
    amount: int
    base: str
    reason: str
    photos: tuple[str, ...]
    returned: int


def returned(ids: Iterable[int]) -> dict[int, int]:
    """Reject → amount of it that went back."""
    rows = SupplierReturnLine.objects.filter(reject__in=list(ids), sent__act__corrected_by__isnull=True)
    return dict(rows.values_list("reject_id").annotate(total=Sum("amount")).values_list("reject_id", "total"))


def rendered_rejects(rows: Iterable[Reject]) -> list[RejectRow]:
    """Each with what of it went back. One query."""
    found = list(rows)
    back = returned(one.pk for one in found)
    return [
        RejectRow(
            reject=one.pk,
            on=shop_day(one.act.occurred_at),
            by=one.act.actor.username,
            supplier=one.line.receipt.supplier.code,
            order=one.line.order_line.order.number if one.line.order_line else "",
            order_line=one.line.order_line.line if one.line.order_line else None,
            part=one.line.item.part.number,
            item=one.line.item_id,
            lot=one.line.item.lot_code,
            serial=one.line.item.serial_number,
            amount=one.amount,
            base=one.line.item.base,
            reason=one.reason,
            photos=tuple(one.photos),
            returned=back.get(one.pk, 0),
        )
        for one in found
    ]


@dataclass(frozen=True, slots=True)
class ReturnRow:
    """One line that went back to a supplier: returned coins are credited, refused or awaited; `days`: how long since, on the day asked."""

    line: int
    act: int
    returned_on: date
    supplier: str
    note: str
    reject: int | None
    part: str
    item: int
    lot: str
    serial: str
    amount: int
    base: str
    coins: int
    credited_coins: int
    refused_coins: int
    awaited_coins: int
    days: int
    late_from: date
    late: bool


def return_lines() -> QuerySet[SupplierReturnLine]:
    """What went back to suppliers, and was not taken back."""
    return SupplierReturnLine.objects.filter(sent__act__corrected_by__isnull=True).select_related(
        "sent__act", "sent__supplier", "item__part", "item__lot", "item__serial"
    )


def claims(lines: Iterable[SupplierReturnLine]) -> dict[int, Claim]:
    """What is settled of each line, by its id. One query."""
    found = list(lines)
    settled: dict[tuple[int, str], int] = defaultdict(int)
    rows = Credit.objects.filter(line__in=[one.pk for one in found], act__corrected_by__isnull=True)
    for line, what, coins in rows.values_list("line_id", "what", "coins"):
        settled[line, what] += coins
    return {
        one.pk: Claim(one.coins, settled[one.pk, Settled.CREDITED.value], settled[one.pk, Settled.REFUSED.value])
        for one in found
    }


def rendered_returns(rows: Iterable[SupplierReturnLine], on: date) -> list[ReturnRow]:
    """Each with what is settled of it, and its age on a day. One query."""
    found = list(rows)
    settled = claims(found)
    told = []
    for one in found:
        day, claim = shop_day(one.sent.act.occurred_at), settled[one.pk]
        told.append(
            ReturnRow(
                line=one.pk,
                act=one.sent_id,
                returned_on=day,
                supplier=one.sent.supplier.code,
                note=one.sent.note,
                reject=one.reject_id,
                part=one.item.part.number,
                item=one.item_id,
                lot=one.item.lot_code,
                serial=one.item.serial_number,
                amount=one.amount,
                base=one.item.base,
                coins=claim.coins,
                credited_coins=claim.credited,
                refused_coins=claim.refused,
                awaited_coins=claim.awaited,
                days=(on - day).days,
                late_from=credit_late_from(day),
                late=claim.awaited > 0 and on >= credit_late_from(day),
            )
        )
    return told


def credits_awaited(on: date) -> list[ReturnRow]:
    """Returned lines of which a credit is awaited, those returned by a day, the oldest first. Two queries."""
    rows = return_lines().filter(sent__act__occurred_at__lte=last_of(on)).order_by("sent__act__occurred_at", "pk")
    return [one for one in rendered_returns(rows, on) if one.awaited_coins > 0]


def asides_waiting(rows: QuerySet[ReceiptLine], is_waiting: bool) -> QuerySet[ReceiptLine]:
    """Lines of which something is still in inspection, or all others. Two queries and that of the rows."""
    states = delivered(rows)
    ids = [line for line, one in states.items() if one.in_inspection > 0]
    return rows.filter(pk__in=ids) if is_waiting else rows.exclude(pk__in=ids)
