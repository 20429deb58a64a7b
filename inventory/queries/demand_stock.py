"""What stands beside a history of demand: on how many days of a month none was there, and which months a person marked as exceptional."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Case, F, Min, Q, QuerySet, Sum, Value, When

from inventory.domain.keeping import HowEnded
from inventory.domain.places import PlaceKind
from inventory.domain.stock_days import MonthStock, Step, month_of, stock_by_month
from inventory.models import Balance, DemandMark, KeptEnd, KeptPiece, Movement, Part
from inventory.queries.days import day_of, shop_day, start_of
from inventory.queries.kept import open_kept

#: (part id, "2025-01")
PartMonth = tuple[int, str]
#: (part id, day, change, how often some came)
_Change = tuple[int, date, int, int]
_SHELF = PlaceKind.SHELF.value
_STANDS = Q(act__corrected_by__isnull=True, act__corrects__isnull=True)


@dataclass(frozen=True, slots=True)
class MarkRow:
    """A person's word on a month: that it was exceptional, or that it was not; why, who, when."""

    exceptional: bool
    reason: str
    by: str
    at: datetime


def marks_of(since: date, until: date, part: Part | None) -> dict[PartMonth, tuple[MarkRow, ...]]:
    """What was said of the months of these days, the newest last. One query."""
    rows = DemandMark.objects.filter(month__gte=month_of(since), month__lte=month_of(until))
    rows = rows.filter(part=part) if part else rows
    found: dict[PartMonth, list[MarkRow]] = defaultdict(list)
    for row in rows.select_related("act__actor").order_by("pk"):
        said = MarkRow(row.exceptional, row.act.reason, row.act.actor.username, row.act.recorded_at)
        found[row.part_id, row.month].append(said)
    return {key: tuple(said) for key, said in found.items()}


def stock_of(parts: Collection[int], since: date, until: date) -> dict[PartMonth, MonthStock]:
    """How parts were stocked in the months of these days, on the shelves of all sites, from the first day that some came; a part that never
    lay on a shelf is left out.

    By the movements that stand now, in the shop's days. Held or not, it was there; what is kept back of a lot was not, nor what is in opened
    tubes. Six queries, whatever is asked.
    """
    if not parts:
        return {}
    first = _first_came(parts)
    there = _there_now(parts)
    steps: dict[int, list[Step]] = defaultdict(list)
    for part, day, change, came in _changes(parts, start_of(since)):
        there[part] -= change
        if first.get(part, date.max) <= day <= until:
            steps[part].append(Step(day, change, came > 0))
    return {
        (part, month): stock
        for part, day in first.items()
        for month, stock in stock_by_month(there[part], _by_day(steps[part]), max(since, day), until).items()
    }


def _first_came(parts: Collection[int]) -> dict[int, date]:
    rows = Movement.objects.filter(_STANDS, item__part__in=parts, to_spot__place__kind=_SHELF, item__tube__isnull=True)
    found = rows.exclude(from_spot__place__kind=_SHELF).values_list("item__part").annotate(Min("act__occurred_at"))
    return {part: shop_day(at) for part, at in found.order_by()}


def _there_now(parts: Collection[int]) -> dict[int, int]:
    """Base units on shelves now, less what is kept."""
    there: dict[int, int] = defaultdict(int)
    lying = Balance.objects.filter(part__in=parts, pickable=True, amount__gt=0, item__tube__isnull=True)
    for part, amount in lying.values_list("part").annotate(Sum("amount")).order_by():
        there[part] += amount
    for part, amount in (
        open_kept().filter(item__part__in=parts).values_list("item__part").annotate(Sum("amount")).order_by()
    ):
        there[part] -= amount
    return there


def _changes(parts: Collection[int], begin: datetime) -> list[_Change]:
    """By part and day, from a moment on. What was taken back changed nothing, and came not. Kept is away, released is there again."""
    to_shelf, off_shelf = Q(to_spot__place__kind=_SHELF), Q(from_spot__place__kind=_SHELF)
    moved = Movement.objects.filter(
        (to_shelf & ~off_shelf) | (off_shelf & ~to_shelf),
        item__part__in=parts,
        item__tube__isnull=True,
        item__member="",
    )
    free_again = Q(how__in=[HowEnded.RELEASED, HowEnded.GIVEN_UP])
    return [
        *_by_part(moved, "item__part", begin, Case(When(to_shelf, then=F("amount")), default=-F("amount")), to_shelf & _STANDS),
        *_by_part(KeptPiece.objects.filter(item__part__in=parts), "item__part", begin, -F("amount"), Q(pk__isnull=True)),
        *_by_part(
            KeptEnd.objects.filter(kept__item__part__in=parts), "kept__item__part", begin, F("kept__amount"), free_again
        ),
    ]  # fmt: skip


def _by_part(rows: QuerySet[Any], part: str, begin: datetime, change: Any, came: Q) -> list[_Change]:
    days = rows.filter(act__occurred_at__gte=begin).annotate(day=day_of("act__occurred_at"))
    sums = days.values(part, "day").annotate(
        change=Sum(change), came=Sum(Case(When(came, then=Value(1)), default=Value(0)))
    )
    return list(sums.order_by().values_list(part, "day", "change", "came"))


def _by_day(steps: Collection[Step]) -> list[Step]:
    """One step a day."""
    days: dict[date, Step] = {}
    for step in steps:
        old = days.get(step.day, Step(step.day, 0, False))
        days[step.day] = Step(step.day, old.change + step.change, old.came or step.came)
    return list(days.values())
