"""Old units and deposits to be read: where each unit is, what is outstanding, and what is at risk on a day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import BooleanField, Exists, ExpressionWrapper, OuterRef, Prefetch, Q, QuerySet, Sum

from inventory.domain.old_units import Open, Side, What, risk_of, sums
from inventory.models import (
    Balance,
    Deposit,
    DepositEntry,
    OldUnit,
    OldUnitSent,
    OldUnitTag,
    Part,
    Supplier,
    SupplierPart,
)
from inventory.queries.days import shop_day

#: How an old unit stands.
HERE, SENT, GONE = "here", "sent back", "missing"
STATES = (HERE, SENT, GONE)


@dataclass(frozen=True, slots=True)
class UnitRow:
    """One old unit as it stands now.

    open      nobody has said yet whose it is: it has no tag
    job       of its tag; without one the job that was said when it was taken in
    state     "here" at `place`, "sent back" to `sent_to` on `sent_on`, or "missing": the books have it nowhere
    deposits  ids of those that hang on it
    """

    id: int
    act: int
    at: datetime
    by: str
    tag: str
    job: str
    open: bool
    item: int
    part: str
    serial: str
    lot: str
    grade: str
    condition: str
    supplier: str
    send_back_by: date | None
    state: str
    place: str
    spot: str
    sent_to: str
    sent_on: date | None
    deposits: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry of a deposit; `reverses`: the entry that it takes back, `reversed_by`: the one that takes it back."""

    id: int
    act: int
    at: datetime
    by: str
    what: str
    coins: int
    reason: str
    reverses: int | None
    reversed_by: int | None


@dataclass(frozen=True, slots=True)
class DepositRow:
    """A deposit and its entries. old_unit: the one that it hangs on, null while none is there; due_on: last day for sending it back."""

    id: int
    side: str
    supplier: str
    job: str
    part: str
    receipt: int | None
    old_unit: int | None
    due_on: date | None
    outstanding_coins: int
    entries: tuple[EntryRow, ...]


@dataclass(frozen=True, slots=True)
class DepositSums:
    """What stands with a supplier, or of the customers' deposits (no code): paid less refunded less lost is outstanding."""

    side: str
    supplier: str
    paid_coins: int
    refunded_coins: int
    lost_coins: int
    outstanding_coins: int


@dataclass(frozen=True, slots=True)
class MoneyAtRisk:
    """Money of one deposit that is at risk. days_left  below zero: so many days past its limit."""

    deposit: int
    supplier: str
    job: str
    part: str
    outstanding_coins: int
    due_on: date
    days_left: int
    why: str
    old_unit: int | None
    tag: str
    place: str


def send_back_days(supplier: Supplier | None, part: Part) -> tuple[int | None, int | None]:
    """How many days an old unit of the part may stay here: by the supplier's terms for the part, and by the supplier's own."""
    if supplier is None:
        return None, None
    terms = SupplierPart.objects.filter(supplier=supplier, part=part).values_list("send_back_days", flat=True).first()
    return terms, supplier.send_back_days


def _sent() -> QuerySet[OldUnitSent]:
    return OldUnitSent.objects.filter(act__corrected_by__isnull=True).select_related("act", "supplier").order_by("pk")


def _standing() -> QuerySet[Balance]:
    return Balance.objects.filter(real=True, amount__gt=0).select_related("spot__place").order_by("pk")


def old_units() -> QuerySet[OldUnit]:
    """Old units that count, with all that `rendered_units` reads, and `is_tagged`, `is_sent`, `is_here`. Five queries."""
    here = Balance.objects.filter(item=OuterRef("item"), real=True, amount__gt=0)
    sent = OldUnitSent.objects.filter(unit=OuterRef("pk"), act__corrected_by__isnull=True)
    return (
        OldUnit.objects.filter(act__corrected_by__isnull=True)
        .select_related("act__actor", "item__part", "item__lot", "item__serial", "supplier")
        .annotate(
            is_tagged=Exists(OldUnitTag.objects.filter(unit=OuterRef("pk"))), is_sent=Exists(sent), is_here=Exists(here)
        )
        .prefetch_related(
            Prefetch("tags", OldUnitTag.objects.order_by("pk")),
            Prefetch("sent", _sent()),
            Prefetch("item__balances", _standing()),
            Prefetch("deposits", Deposit.objects.order_by("pk")),
        )
    )


def in_state(rows: QuerySet[Any], state: str) -> QuerySet[Any]:
    """Of the old units those that are here, were sent back, or are missing."""
    if state == SENT:
        return rows.filter(is_sent=True)
    return rows.filter(is_sent=False, is_here=state == HERE)


def of_job(rows: QuerySet[Any], job: str) -> QuerySet[Any]:
    """Of the old units those whose newest tag is of the job; without a tag, those that were taken in for it."""
    newer = OldUnitTag.objects.filter(unit=OuterRef("unit"), pk__gt=OuterRef("pk"))
    newest = OldUnitTag.objects.filter(~Exists(newer), unit=OuterRef("pk"), job=job)
    return rows.filter(Q(Exists(newest)) | Q(is_tagged=False, act__subject=job))


def rendered_units(rows: Iterable[OldUnit]) -> list[UnitRow]:
    """Rows of `old_units` as plain values."""
    return [_unit(row) for row in rows]


def _unit(row: OldUnit) -> UnitRow:
    tag, sendings, standings = list(row.tags.all())[-1:], list(row.sent.all()), list(row.item.balances.all())
    sent = sendings[-1] if sendings else None
    stands = standings[0].spot if standings and sent is None else None
    return UnitRow(
        id=row.pk,
        act=row.act_id,
        at=row.act.occurred_at,
        by=row.act.actor.username,
        tag=tag[0].tag if tag else "",
        job=tag[0].job if tag else row.act.subject,
        open=not tag,
        item=row.item_id,
        part=row.item.part.number,
        serial=row.item.serial_number,
        lot=row.item.lot_code,
        grade=row.grade,
        condition=row.condition,
        supplier=row.supplier.code if row.supplier else "",
        send_back_by=row.send_back_by,
        state=SENT if sent else HERE if stands else GONE,
        place=stands.place.code if stands else "",
        spot=stands.name if stands else "",
        sent_to=sent.supplier.code if sent else "",
        sent_on=shop_day(sent.act.occurred_at) if sent else None,
        deposits=tuple(deposit.pk for deposit in row.deposits.all()),
    )


def deposits() -> QuerySet[Deposit]:
    """All deposits, each with its entries and who made them. Two queries."""
    entries = DepositEntry.objects.select_related("act__actor", "reversed_by").order_by("pk")
    return Deposit.objects.select_related("supplier", "part", "unit__act__corrected_by").prefetch_related(
        Prefetch("entries", entries)
    )


def rendered_deposits(rows: Iterable[Deposit]) -> list[DepositRow]:
    """Rows of `deposits` as plain values; an old unit that was taken back is none."""
    return [
        DepositRow(
            id=row.pk,
            side=row.side,
            supplier=row.supplier.code if row.supplier else "",
            job=row.job,
            part=row.part.number,
            receipt=row.receipt_id,
            old_unit=row.unit.pk if row.unit and getattr(row.unit.act, "corrected_by", None) is None else None,
            due_on=row.due_on,
            outstanding_coins=row.outstanding_coins,
            entries=tuple(_entry(one) for one in row.entries.all()),
        )
        for row in rows
    ]


def _entry(one: DepositEntry) -> EntryRow:
    back = getattr(one, "reversed_by", None)
    return EntryRow(
        id=one.pk,
        act=one.act_id,
        at=one.act.occurred_at,
        by=one.act.actor.username,
        what=one.what,
        coins=one.coins,
        reason=one.act.reason,
        reverses=one.reverses_id,
        reversed_by=back.pk if back else None,
    )


def held_now() -> tuple[list[DepositSums], int]:
    """What is outstanding with each supplier, what is of the customers', and with the suppliers in all. One query."""
    back = ExpressionWrapper(Q(reverses__isnull=False), output_field=BooleanField())
    rows = (
        DepositEntry.objects.annotate(back=back)
        .values_list("deposit__side", "deposit__supplier__code", "what", "back")
        .annotate(total=Sum("coins"))
        .order_by("deposit__side", "deposit__supplier__code", "what", "back")
    )
    found = sums((f"{side}\0{code or ''}", What(what), total, back) for side, code, what, back, total in rows)
    held = []
    for holder, of in sorted(found.items()):
        side, _, code = holder.partition("\0")
        left = of[What.PAID] - of[What.REFUNDED] - of[What.LOST]
        held.append(DepositSums(side, code, of[What.PAID], of[What.REFUNDED], of[What.LOST], left))
    return held, sum(one.outstanding_coins for one in held if one.side == Side.SUPPLIER)


def at_risk(day: date, within_days: int = 0, supplier: str = "") -> tuple[list[MoneyAtRisk], int]:
    """Deposits at suppliers whose money is at risk on a day, the earliest limit first, and the sum. Six queries at most.

    The limit of a deposit is its own or that of its old unit, whichever comes first. One query where nothing is outstanding.
    """
    rows = Deposit.objects.filter(side=Side.SUPPLIER.value, outstanding_coins__gt=0)
    if supplier:
        rows = rows.filter(supplier__code=supplier)
    outstanding = list(rows.select_related("supplier", "part").order_by("pk"))
    units = {row.pk: _unit(row) for row in old_units().filter(deposits__in=rows).distinct()} if outstanding else {}
    found = []
    for row in outstanding:
        unit = units.get(row.unit_id) if row.unit_id is not None else None
        limits = [limit for limit in (row.due_on, unit.send_back_by if unit else None) if limit is not None]
        if not limits:
            continue
        asked = Open(
            outstanding_coins=row.outstanding_coins,
            due_on=min(limits),
            tagged=unit is not None,
            here=unit is not None and unit.state == HERE,
            sent_on=unit.sent_on if unit else None,
        )
        risk = risk_of(asked, day, within_days)
        if risk is None:
            continue
        found.append(
            MoneyAtRisk(
                deposit=row.pk,
                supplier=row.supplier.code if row.supplier else "",
                job=unit.job if unit and unit.job else row.job,
                part=row.part.number,
                outstanding_coins=row.outstanding_coins,
                due_on=min(limits),
                days_left=risk[1],
                why=risk[0].value,
                old_unit=unit.id if unit else None,
                tag=unit.tag if unit else "",
                place=unit.place if unit else "",
            )
        )
    found.sort(key=lambda one: (one.due_on, one.deposit))
    return found, sum(one.outstanding_coins for one in found)
