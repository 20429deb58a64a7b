"""Who may check at a site, and on which day: a site names its checkers and who stands in for them. Pure.

A site that names nobody leaves it to everybody with the right to check. Checker and fitter are two people everywhere.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

#: Monday is 0, as in the standard library.
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class Duty:
    """`person` checks on these weekdays (0 is Monday); `stands_in`: on any day, for a named checker who is away."""

    person: int
    weekdays: frozenset[int]
    stands_in: bool


def on_duty(duties: Sequence[Duty], day: date) -> tuple[int, ...]:
    """Who may check that day: those whose weekday it is, then those who stand in; empty: nobody."""
    regular = [duty.person for duty in duties if not duty.stands_in and day.weekday() in duty.weekdays]
    cover = [duty.person for duty in duties if duty.stands_in]
    return tuple(dict.fromkeys(regular + cover))


def next_day(duties: Sequence[Duty], person: int | None, day: date) -> date | None:
    """The next day after `day` on which somebody other than `person` may check; None: never, as it stands."""
    for ahead in range(1, 8):
        then = day + timedelta(days=ahead)
        if any(one != person for one in on_duty(duties, then)):
            return then
    return None


def earliest_day(duties: Sequence[Duty], fitters: Collection[int], day: date) -> date | None:
    """The first day from `day` on, itself included, on which somebody checks who did not fit; None: never, as it stands.

    A site that names nobody leaves it to everybody with the right: then it is the day itself.
    """
    if not duties:
        return day
    for ahead in range(7):
        then = day + timedelta(days=ahead)
        if any(person not in fitters for person in on_duty(duties, then)):
            return then
    return None
