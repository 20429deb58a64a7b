"""Purchase orders as they are read: each line with its state, computed from what came, and the promises that passed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from inventory.domain.orders import LineState, complete_on, line_state, passed
from inventory.domain.receiving import Delivered
from inventory.models import OrderLine, OrderLineEnd, OrderPromise, PurchaseOrder, ReceiptLine
from inventory.queries.catalogue import no_such
from inventory.queries.days import last_of, shop_day
from inventory.queries.deliveries import delivered, standing_lines


@dataclass(frozen=True, slots=True)
class OrderLineRow:
    """A line of an order in whole base units; delivered = accepted + rejected + gone + in inspection.

    gone             set aside, and left for good before anybody accepted or rejected it
    over             kept beyond what was ordered; given_up: closed, will not come
    promised_on      the newest promise; promises_passed: promised days that went by before all of it had arrived
    late             the newest promise passed, and something is still to come
    """

    line: int
    part: str
    base: str
    typed: str
    job: str
    total_coins: int | None
    ordered: int
    delivered: int
    accepted: int
    rejected: int
    in_inspection: int
    gone: int
    over: int
    given_up: int
    outstanding: int
    open: bool
    promised_on: date | None
    promises_passed: tuple[date, ...]
    late: bool


@dataclass(frozen=True, slots=True)
class OrderRow:
    """An order with its lines; open while anything of it is to come or in inspection."""

    order: str
    supplier: str
    ordered_on: date
    by: str
    note: str
    open: bool
    total_coins: int | None
    lines: tuple[OrderLineRow, ...]


def orders() -> QuerySet[PurchaseOrder]:
    """Orders that were not taken back."""
    return PurchaseOrder.objects.filter(act__corrected_by__isnull=True).select_related("act__actor", "supplier")


def order(number: str) -> PurchaseOrder:
    """One order; DomainError "not-found" names those that are near."""
    found = orders().filter(number=number).first()
    if found is None:
        raise no_such("order", number, orders().values_list("number", flat=True))
    return found


@dataclass(slots=True)
class Facts:
    """What is on record about a line: its deliveries with what became of each, what was given up, what was promised."""

    line: OrderLine
    deliveries: list[tuple[ReceiptLine, Delivered]]
    given_up: int
    promises: list[tuple[date, date]]

    @property
    def state(self) -> LineState:
        """How far it is."""
        return line_state(self.line.amount, self.given_up, (one for _, one in self.deliveries))

    @property
    def arrived_on(self) -> date | None:
        """The day on which all that was ordered and not given up had arrived, whatever it was like."""
        days = [(shop_day(row.receipt.act.occurred_at), row.amount) for row, _ in self.deliveries]
        return complete_on(self.line.amount - self.given_up, days)


def facts_of(lines: Iterable[OrderLine]) -> dict[int, Facts]:
    """What is on record about each line, by its id. Five queries."""
    found = list(lines)
    ids = [one.pk for one in found]
    rows = list(standing_lines().filter(order_line__in=ids).select_related("aside", "receipt__act").order_by("pk"))
    states = delivered(rows)
    came: dict[int, list[tuple[ReceiptLine, Delivered]]] = defaultdict(list)
    for row in rows:
        if row.order_line_id is not None:
            came[row.order_line_id].append((row, states[row.pk]))
    given: dict[int, int] = defaultdict(int)
    for line, amount in OrderLineEnd.objects.filter(line__in=ids, act__corrected_by__isnull=True).values_list(
        "line_id", "amount"
    ):
        given[line] += amount
    said: dict[int, list[tuple[date, date]]] = defaultdict(list)
    promises = OrderPromise.objects.filter(line__in=ids, act__corrected_by__isnull=True)
    promises = promises.order_by(
        "act__occurred_at", "pk"
    )  # one that is entered late does not replace what was said after it
    for line, day, at in promises.values_list("line_id", "promised_on", "act__occurred_at"):
        said[line].append((day, shop_day(at)))
    return {one.pk: Facts(one, came[one.pk], given[one.pk], said[one.pk]) for one in found}


def rendered_orders(rows: Iterable[PurchaseOrder], on: date) -> list[OrderRow]:
    """Orders with their lines as they stand, promises seen on a day. Six queries."""
    found = list(rows)
    lines = list(OrderLine.objects.filter(order__in=found).select_related("part").order_by("order_id", "line"))
    facts = facts_of(lines)
    of_order: dict[int, list[OrderLineRow]] = defaultdict(list)
    for line in lines:
        of_order[line.order_id].append(_line(facts[line.pk], on))
    told = []
    for one in found:
        mine = tuple(of_order[one.pk])
        prices = [line.total_coins for line in mine]
        told.append(
            OrderRow(
                order=one.number,
                supplier=one.supplier.code,
                ordered_on=shop_day(one.act.occurred_at),
                by=one.act.actor.username,
                note=one.note,
                open=any(line.open for line in mine),
                total_coins=None if None in prices else sum(price for price in prices if price is not None),
                lines=mine,
            )
        )
    return told


def _line(facts: Facts, on: date) -> OrderLineRow:
    state, line = facts.state, facts.line
    newest = facts.promises[-1][0] if facts.promises else None
    return OrderLineRow(
        line=line.line,
        part=line.part.number,
        base=line.part.base,
        typed=line.typed,
        job=line.job,
        total_coins=line.total_coins,
        ordered=state.ordered,
        delivered=state.delivered,
        accepted=state.accepted,
        rejected=state.rejected,
        in_inspection=state.in_inspection,
        gone=state.gone,
        over=state.over,
        given_up=state.given_up,
        outstanding=state.outstanding,
        open=state.is_open,
        promised_on=newest,
        promises_passed=passed((day for day, _ in facts.promises), facts.arrived_on, on),
        late=newest is not None and newest < on and state.outstanding > 0,
    )


@dataclass(frozen=True, slots=True)
class LateLine:
    """A line whose newest promise passed, with what is still to come."""

    order: str
    line: int
    supplier: str
    job: str
    part: str
    outstanding: int
    promised_on: date


def late_lines(on: date, job: str = "") -> list[LateLine]:
    """Lines of orders placed by a day whose newest promise passed before it, for a job or all, the longest passed first. Six queries."""
    lines = OrderLine.objects.filter(
        order__act__corrected_by__isnull=True, order__act__occurred_at__lte=last_of(on)
    ).select_related("part", "order__supplier")
    if job:
        lines = lines.filter(job=job)
    found = [
        LateLine(
            row.line.order.number,
            row.line.line,
            row.line.order.supplier.code,
            row.line.job,
            row.line.part.number,
            row.state.outstanding,
            row.promises[-1][0],
        )
        for row in facts_of(lines).values()
        if row.promises and row.promises[-1][0] < on and row.state.outstanding > 0
    ]
    return sorted(found, key=lambda one: (one.promised_on, one.order, one.line))


def in_state(rows: QuerySet[PurchaseOrder], is_open: bool) -> QuerySet[PurchaseOrder]:
    """Orders of which something is to come or in inspection, or all others. Five queries and that of the rows."""
    lines = OrderLine.objects.filter(order__in=rows)
    waiting = {one.line.order_id for one in facts_of(lines).values() if one.state.is_open}
    return rows.filter(pk__in=waiting) if is_open else rows.exclude(pk__in=waiting)
