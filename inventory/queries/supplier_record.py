"""What each supplier did, from the lines of its orders: late, short, rejected, lead times."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.db.models import QuerySet

from inventory.domain.quantities import round_half_even
from inventory.domain.supplier_record import ESTIMATOR, Line, lead_times, on_time, promises_passed, wait_of
from inventory.models import Accepted, OrderLine, OrderLineEnd, Reject, Supplier
from inventory.queries.catalogue import no_such_supplier
from inventory.queries.days import last_of, shop_day, start_of
from inventory.queries.orders import Facts, facts_of

Events = dict[int, list[tuple[date, int]]]


@dataclass(frozen=True, slots=True)
class SupplierRecord:
    """What a supplier did on its orders, seen on a day.

    on_time, late    of the lines that were promised and are due: all of it there, and not rejected, by the day promised first
    short            lines of which something was given up; rejected: lines of which something was rejected
    lead_*           days from the order to usable stock (after inspection), by `estimator`; at_least: lines that did not come yet
    """

    supplier: str
    lines: int
    open: int
    on_time: int
    late: int
    on_time_permille: int | None
    promises_passed: int
    short: int
    rejected: int
    came: int
    at_least: int
    lead_mean_days: Decimal | None
    lead_mean_restricted_to_days: int | None
    lead_lower_quartile_days: int | None
    lead_median_days: int | None
    lead_upper_quartile_days: int | None
    estimator: str


def supplier_records(on: date, since: date | None = None, supplier: str = "") -> list[SupplierRecord]:
    """Of each supplier with an order placed by a day, and from `since` on. DomainError "not-found". Nine queries at most.

    What happened after the day is left out; what was taken back is left out whenever it was.
    """
    rows = _lines(on, since)
    if supplier:
        if not Supplier.objects.filter(code=supplier).exists():
            raise no_such_supplier(supplier)
        rows = rows.filter(order__supplier__code=supplier)
    lines = list(rows)
    facts = facts_of(lines)
    accepted, rejected = _events(facts.values())
    closed = _closed(facts, on)
    of_supplier: dict[str, list[Line]] = defaultdict(list)
    bad: dict[str, int] = defaultdict(int)
    for one in lines:
        its = facts[one.pk]
        of_supplier[one.order.supplier.code].append(_line(its, accepted, rejected, closed.get(one.pk, []), on))
        some = any(
            day <= on for row, _ in its.deliveries for day, _ in (rejected[row.pk, True] + rejected[row.pk, False])
        )
        bad[one.order.supplier.code] += some
    return [_record(code, mine, bad[code], on) for code, mine in sorted(of_supplier.items())]


def _lines(on: date, since: date | None) -> QuerySet[OrderLine]:
    rows = OrderLine.objects.filter(order__act__corrected_by__isnull=True, order__act__occurred_at__lte=last_of(on))
    if since is not None:
        rows = rows.filter(order__act__occurred_at__gte=start_of(since))
    return rows.select_related("order__supplier", "order__act").order_by("pk")


def _events(facts: Iterable[Facts]) -> tuple[Events, dict[tuple[int, bool], list[tuple[date, int]]]]:
    """Delivered line → (day, amount) accepted after it was set aside; (delivered line, after it was accepted) → (day, amount) rejected."""
    ids = [row.pk for one in facts for row, _ in one.deliveries]
    accepted: Events = defaultdict(list)
    rows = Accepted.objects.filter(line__in=ids, act__corrected_by__isnull=True)
    for line, at, amount in rows.values_list("line_id", "act__occurred_at", "amount"):
        accepted[line].append((shop_day(at), amount))
    rejected: dict[tuple[int, bool], list[tuple[date, int]]] = defaultdict(list)
    bad = Reject.objects.filter(line__in=ids, act__corrected_by__isnull=True)
    for line, after, at, amount in bad.values_list("line_id", "after", "act__occurred_at", "amount"):
        rejected[line, after].append((shop_day(at), amount))
    return accepted, rejected


def _closed(ids: Iterable[int], on: date) -> Events:
    found: Events = defaultdict(list)
    rows = OrderLineEnd.objects.filter(line__in=list(ids), act__corrected_by__isnull=True)
    for line, at, amount in rows.values_list("line_id", "act__occurred_at", "amount"):
        if shop_day(at) <= on:
            found[line].append((shop_day(at), amount))
    return found


def _line(
    facts: Facts,
    accepted: Events,
    rejected: dict[tuple[int, bool], list[tuple[date, int]]],
    ends: list[tuple[date, int]],
    on: date,
) -> Line:
    """The line as it was known on a day."""
    arrivals: list[tuple[date, int]] = []
    usable: list[tuple[date, int]] = []
    for row, state in facts.deliveries:
        came = (shop_day(row.receipt.act.occurred_at), row.amount)
        before, after = rejected[row.pk, False], rejected[row.pk, True]
        arrivals += [came, *((day, -amount) for day, amount in (*before, *after))]
        usable += accepted[row.pk] if state.aside else [came, *((day, -amount) for day, amount in before)]
        usable += [(day, -amount) for day, amount in after]
    return Line(
        ordered_on=shop_day(facts.line.order.act.occurred_at),
        ordered=facts.line.amount,
        given_up=sum(amount for _, amount in ends),
        promises=[day for day, said_on in facts.promises if said_on <= on],
        arrivals=[one for one in arrivals if one[0] <= on],
        usable=[one for one in usable if one[0] <= on],
        closed_on=max((day for day, _ in ends), default=None),
    )


def _record(code: str, lines: list[Line], bad: int, on: date) -> SupplierRecord:
    judged = [word for word in (on_time(line, on) for line in lines) if word is not None]
    waits = [wait_of(line, on) for line in lines]
    lead = lead_times(waits)
    good = sum(judged)
    return SupplierRecord(
        supplier=code,
        lines=len(lines),
        open=sum(1 for line, wait in zip(lines, waits, strict=True) if not wait.came and line.wanted > 0),
        on_time=good,
        late=len(judged) - good,
        on_time_permille=_permille(good, len(judged)),
        promises_passed=sum(promises_passed(line, on) for line in lines),
        short=sum(1 for line in lines if line.given_up),
        rejected=bad,
        came=lead.came,
        at_least=lead.at_least,
        lead_mean_days=None if lead.mean is None else Decimal(round_half_even(lead.mean * 10)).scaleb(-1),
        lead_mean_restricted_to_days=lead.restricted_to,
        lead_lower_quartile_days=lead.lower,
        lead_median_days=lead.median,
        lead_upper_quartile_days=lead.upper,
        estimator=ESTIMATOR,
    )


def _permille(part: int, whole: int) -> int | None:
    return round_half_even(Fraction(1000 * part, whole)) if whole else None
