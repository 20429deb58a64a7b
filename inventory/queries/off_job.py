"""Counter sales, workshop use and emergency buys as they are read; and the history of demand, by part and month."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Q, QuerySet, Sum
from django.db.models.functions import TruncMonth

from inventory.domain.errors import DomainError
from inventory.domain.off_job import Month, Used, Way, What, by_month
from inventory.domain.places import PlaceKind
from inventory.domain.stock_days import MonthStock, months_between
from inventory.models import Movement, OffJobLine, Part, ReceiptLine, SoldReturn
from inventory.queries.days import shop_zone, start_of
from inventory.queries.demand_stock import MarkRow, marks_of, stock_of

#: Days that a history goes back where nobody says since when.
A_YEAR = 365


@dataclass(frozen=True, slots=True)
class LeftRow:
    """A line that left a shelf beside jobs; `brought_back` of a sale, whole base units; `line`: its own number, for bringing back;
    `buyer`: of a sale, the number of the owner who bought it."""

    line: int
    act: int
    at: datetime
    by: str
    buyer: int | None
    reason: str
    demand: bool
    part: str
    item: int
    lot: str
    serial: str
    amount: int
    base: str
    place: str
    spot: str
    brought_back: int


def left(what: What) -> QuerySet[OffJobLine]:
    """Lines of counter sales, or of workshop use, that were not taken back."""
    return OffJobLine.objects.filter(off_job__what=what.value, off_job__act__corrected_by__isnull=True).select_related(
        "off_job__act__actor", "item__part", "item__lot", "item__serial", "spot__place"
    )


def sold_line(number: int) -> OffJobLine:
    """One line of a sale; DomainError "not-found"."""
    found = left(What.COUNTER).filter(pk=number).first()
    if found is None:
        raise DomainError("not-found", f"There is no sold line {number}.", line=number)
    return found


def brought_back(line_ids: Collection[int]) -> dict[int, int]:
    """Line → how much of it buyers brought back. One query."""
    rows = SoldReturn.objects.filter(line__in=line_ids, act__corrected_by__isnull=True)
    return dict(rows.values_list("line_id").annotate(total=Sum("amount")))


def rendered_left(rows: Iterable[OffJobLine]) -> list[LeftRow]:
    """Each with what came back of it. One query."""
    found = list(rows)
    back = brought_back([row.pk for row in found])
    return [
        LeftRow(
            line=row.pk,
            act=row.off_job_id,
            at=row.off_job.act.occurred_at,
            by=row.off_job.act.actor.username,
            buyer=row.off_job.buyer_id,
            reason=row.off_job.act.reason,
            demand=row.off_job.demand,
            part=row.item.part.number,
            item=row.item_id,
            lot=row.item.lot_code,
            serial=row.item.serial_number,
            amount=row.amount,
            base=row.item.base,
            place=row.spot.place.code,
            spot=row.spot.name,
            brought_back=back.get(row.pk, 0),
        )
        for row in found
    ]


@dataclass(frozen=True, slots=True)
class DemandRow:
    """A part in a month ("2025-01"), in base units of the part: see `Month`.

    stocked_days        days of the month, as far as it is asked about, from the first time that some lay on a shelf
    days_without_stock  on so many of them none was there: see `stock_days`. A month in which it was missing is no month without demand
    exceptional         a person's newest word on the month; marks: all that was said of it
    """

    part: str
    name: str
    base: str
    month: str
    counts: Month
    amount: int
    stocked_days: int
    days_without_stock: int
    exceptional: bool
    marks: tuple[MarkRow, ...]


def demand(since: date, until: date, part: Part | None = None) -> list[DemandRow]:
    """What was used, by part and month, from a day to a day: issued to jobs less what they brought back, and what was flagged as demand.

    Of one part every month of these days has a row. Of all parts those with demand or a mark have one for each such month, and for
    each other in which the part was missing. An emergency buy that lies on a shelf is issued from there and counts then; one that came straight to a bench counts as bought. What is
    in opened tubes is left out: a closed one was issued or opened as a piece. Fifteen queries.
    """
    begin, end = start_of(since), start_of(until + timedelta(days=1))
    months = by_month(_used(begin, end, part))
    marks = marks_of(since, until, part)
    ids = {pk for pk, _ in (*months, *marks)} | ({part.pk} if part else set())
    stock = stock_of(ids, since, until)
    keys = {*months, *marks, *(key for key, its in stock.items() if its.without)}
    keys |= {(part.pk, month) for month in months_between(since, until)} if part else set()
    parts = Part.objects.in_bulk(ids)
    rows = [
        _row(parts[pk], month, months.get((pk, month), Month()), stock.get((pk, month), MonthStock()), marks.get((pk, month), ()))
        for pk, month in keys
    ]  # fmt: skip
    return sorted(rows, key=lambda row: (row.part, row.month))


def _row(part: Part, month: str, counts: Month, stock: MonthStock, marks: tuple[MarkRow, ...]) -> DemandRow:
    exceptional = bool(marks) and marks[-1].exceptional
    return DemandRow(
        part.number,
        part.name,
        part.base,
        month,
        counts,
        counts.demand,
        stock.days,
        stock.without,
        exceptional,
        marks,
    )


def _used(begin: datetime, end: datetime, part: Part | None) -> Iterator[Used]:
    of, of_line = (Q(), Q()) if part is None else (Q(item__part=part), Q(line__item__part=part))
    shelf, hands = PlaceKind.SHELF.value, [PlaceKind.CART.value, PlaceKind.BENCH.value]
    moved = Movement.objects.filter(of, _when("act", begin, end), act__corrects__isnull=True, item__tube__isnull=True)
    yield from _sums(moved.filter(from_spot__place__kind=shelf, to_spot__place__kind=hands[0]), "act", Way.ISSUED)
    yield from _sums(moved.filter(from_spot__place__kind__in=hands, to_spot__place__kind=shelf), "act", Way.RETURNED)
    lines = OffJobLine.objects.filter(of, _when("off_job__act", begin, end), item__tube__isnull=True)
    for demand_, what, way in (
        (True, What.COUNTER, Way.SOLD),
        (True, What.WORKSHOP, Way.WORKSHOP),
        (False, None, Way.NOT_COUNTED),
    ):
        rows = lines.filter(off_job__demand=demand_)
        yield from _sums(rows.filter(off_job__what=what.value) if what else rows, "off_job__act", way)
    back = SoldReturn.objects.filter(
        of_line, _when("act", begin, end), line__off_job__act__corrected_by__isnull=True, line__item__tube__isnull=True
    )
    for pk, month, flagged, amount in (
        back.annotate(month=TruncMonth("act__occurred_at", tzinfo=shop_zone()))
        .values_list("line__item__part", "month", "line__off_job__demand")
        .annotate(total=Sum("amount"))
    ):
        yield Used(pk, month.strftime("%Y-%m"), Way.SOLD if flagged else Way.NOT_COUNTED, -amount)
    bought = ReceiptLine.objects.filter(
        of,
        _when("receipt__act", begin, end),
        receipt__act__off_job__demand=True,
        receipt__act__place__kind=PlaceKind.BENCH.value,
    )
    yield from _sums(bought, "receipt__act", Way.BOUGHT)


def _when(act: str, begin: datetime, end: datetime) -> Q:
    """Acts of those days that were not taken back."""
    names = {"occurred_at__gte": begin, "occurred_at__lt": end, "corrected_by__isnull": True}
    return Q(**{f"{act}__{name}": value for name, value in names.items()})


def _sums(rows: QuerySet[Any], act: str, way: Way) -> Iterator[Used]:
    months = rows.annotate(month=TruncMonth(f"{act}__occurred_at", tzinfo=shop_zone())).values_list(
        "item__part", "month"
    )
    for pk, month, amount in months.annotate(total=Sum("amount")).order_by("item__part", "month"):
        yield Used(pk, month.strftime("%Y-%m"), way, amount)
