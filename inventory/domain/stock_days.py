"""On how many days of a month none of a part was there: such a month says little about its demand. Pure.

A day without stock is one on which nothing could have been taken: none was there as it began, and none came.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Step:
    """What changed on a day: by how much in all, and whether some came that day, be it gone again by its end."""

    day: date
    change: int
    came: bool


@dataclass(frozen=True, slots=True)
class MonthStock:
    """Days of a month on which a part was stocked at all, from the first time that some came; on how many of them none was there."""

    days: int = 0
    without: int = 0


def month_of(day: date) -> str:
    """ "2025-01"."""
    return f"{day:%Y-%m}"


def months_between(since: date, until: date) -> list[str]:
    """Every month of the days from one to another, both included."""
    months = []
    at = since.replace(day=1)
    while at <= until:
        months.append(month_of(at))
        at = _next_month(at)
    return months


def stock_by_month(there: int, steps: Iterable[Step], since: date, until: date) -> Mapping[str, MonthStock]:
    """Months of the days since to until, both included; `there`: base units that were there as `since` began, steps of days of that time."""
    days: dict[str, int] = {}
    without: dict[str, int] = {}
    at = since
    for step in sorted(steps, key=lambda one: one.day):
        _count(days, at, step.day)
        if there <= 0:
            _count(without, at, step.day if step.came else step.day + _DAY)
        _count(days, step.day, step.day + _DAY)
        there += step.change
        at = step.day + _DAY
    _count(days, at, until + _DAY)
    if there <= 0:
        _count(without, at, until + _DAY)
    return {month: MonthStock(number, without.get(month, 0)) for month, number in sorted(days.items())}


def _count(into: dict[str, int], begin: date, end: date) -> None:
    """Add the days from one up to another, which is not among them, to their months."""
    while begin < end:
        stop = min(end, _next_month(begin))
        into[month_of(begin)] = into.get(month_of(begin), 0) + (stop - begin).days
        begin = stop


def _next_month(day: date) -> date:
    return (day.replace(day=1) + timedelta(days=32)).replace(day=1)
