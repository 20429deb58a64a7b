"""What a supplier did: on time, lead time from order to usable stock, short, rejected. Pure; days by the shop's calendar.

A line that is still to come says only that its lead time is at least so long. The lead times of a supplier are therefore estimated by the
product-limit estimator (Kaplan and Meier 1958, J. Am. Stat. Assoc. 53, 457-481), with lines that are open, or were closed without
having come, as censored; of equal days those that came go before those that did not. The mean is the area under that curve to the
longest lead time observed: where the longest is of a line that did not come, it is restricted to that many days, and says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from inventory.domain.orders import complete_on, passed

ESTIMATOR = "Kaplan-Meier; lines that did not come yet count as at least this long; mean to the longest observed"


@dataclass(frozen=True, slots=True)
class Wait:
    """One lead time in whole days; `came`: it ended by usable stock, else it is at least so long."""

    days: int
    came: bool


@dataclass(frozen=True, slots=True)
class Line:
    """What is on record about a line of an order.

    promises   in the order in which they were made; arrivals: (day, amount), below zero where it was rejected
    usable     (day, amount) of what was accepted, below zero where that was rejected afterwards
    closed_on  the day of the last closing, None for none
    """

    ordered_on: date
    ordered: int
    given_up: int
    promises: Sequence[date]
    arrivals: Sequence[tuple[date, int]]
    usable: Sequence[tuple[date, int]]
    closed_on: date | None = None

    @property
    def wanted(self) -> int:
        """Ordered and not given up."""
        return self.ordered - self.given_up


@dataclass(frozen=True, slots=True)
class LeadTimes:
    """Lead times of several lines; None where the curve does not come down so far.

    mean             None for no line; restricted_to: the days to which it is restricted, None where it is not
    lower, upper     quartiles: a quarter, three quarters of the lines are usable by then
    """

    came: int
    at_least: int
    mean: Fraction | None
    restricted_to: int | None
    lower: int | None
    median: int | None
    upper: int | None


def wait_of(line: Line, on: date) -> Wait:
    """The lead time of a line, seen on a day: to the day on which all that was not given up was usable."""
    if line.wanted <= 0:
        return Wait(((line.closed_on or on) - line.ordered_on).days, came=False)
    day = complete_on(line.wanted, line.usable)
    return Wait(((day or on) - line.ordered_on).days, came=day is not None)


def on_time(line: Line, on: date) -> bool | None:
    """Whether all of it had come, and was not rejected, by the day that was promised first; None: not promised, or not due yet."""
    if not line.promises:
        return None
    first = line.promises[0]
    if line.wanted <= 0:
        return False if line.closed_on is not None and line.closed_on > first else None
    day = complete_on(line.wanted, line.arrivals)
    if day is not None:
        return day <= first
    return False if first < on else None


def promises_passed(line: Line, on: date) -> int:
    """How many promised days went by without all of it."""
    day = line.closed_on if line.wanted <= 0 else complete_on(line.wanted, line.arrivals)
    return len(passed(line.promises, day, on))


def survival(waits: Iterable[Wait]) -> list[tuple[int, Fraction]]:
    """The product-limit curve: (days, share that is still to come after so many days) at each lead time that was observed."""
    ordered = sorted(waits, key=lambda one: one.days)
    share, steps = Fraction(1), []
    for days in sorted({one.days for one in ordered if one.came}):
        at_risk = sum(1 for one in ordered if one.days >= days)
        came = sum(1 for one in ordered if one.came and one.days == days)
        share *= Fraction(at_risk - came, at_risk)
        steps.append((days, share))
    return steps


def quantile(steps: Sequence[tuple[int, Fraction]], share: Fraction) -> int | None:
    """The first day by which this share is usable; None where the curve does not come down so far."""
    return next((days for days, left in steps if left <= 1 - share), None)


def lead_times(waits: Sequence[Wait]) -> LeadTimes:
    """The lead times of a supplier's lines."""
    steps = survival(waits)
    longest = max((one.days for one in waits), default=0)
    area, share, before = Fraction(0), Fraction(1), 0
    for days, left in [*steps, (longest, Fraction(0))]:
        area += share * (days - before)
        share, before = left, days
    restricted = bool(waits) and (not steps or steps[-1][1] > 0)
    return LeadTimes(
        came=sum(1 for one in waits if one.came),
        at_least=sum(1 for one in waits if not one.came),
        mean=area if waits else None,
        restricted_to=longest if restricted else None,
        lower=quantile(steps, Fraction(1, 4)),
        median=quantile(steps, Fraction(1, 2)),
        upper=quantile(steps, Fraction(3, 4)),
    )
