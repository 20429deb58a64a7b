"""What somebody should be reminded of on a day: each open thing has a day from which it is late."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

DAY = timedelta(days=1)


class Kind(StrEnum):
    """What is open."""

    CANDIDATE = "candidate not back"
    LAPSED = "hold lapsed"
    TOOL = "tool not back"
    OUTSIDE = "outside work past its day"
    OWNER = "owner's word awaited"
    WASHED = "plugs, dowels, jets out"
    CHECKER = "no checker that day"
    SERVICE = "work after first run past its day"
    ORDER = "order past its promised day"
    CLASH = "two stories about one thing"
    CREDIT = "credit from supplier awaited"
    DEPOSIT = "deposit at risk"
    UNEXPLAINED = "in transit, unexplained"
    ON_THE_WAY = "transfer nobody signed for"
    NOTICE = "notice with an engine number of no family"


@dataclass(frozen=True, slots=True)
class Open:
    """One open thing; `job` is empty where it is the shop's own. `late_from`: the first day on which it is reminded of; `number`: its
    own number where it has one; `told`: log-in of the person whom it concerns by name, "" where it is everybody's."""

    job: str
    kind: Kind
    what: str
    late_from: date
    number: int | None = None
    told: str = ""


@dataclass(frozen=True, slots=True)
class Reminder:
    """An open thing that is late: `days` is 1 on the first day."""

    job: str
    kind: Kind
    what: str
    late_from: date
    days: int
    number: int | None
    told: str


def reminders(things: Iterable[Open], on: date) -> tuple[Reminder, ...]:
    """What is late on the day, the oldest first."""
    late = sorted(
        (one for one in things if one.late_from <= on),
        key=lambda one: (one.late_from, one.job, one.kind, one.what, one.number or 0),
    )
    return tuple(
        Reminder(one.job, one.kind, one.what, one.late_from, (on - one.late_from).days + 1, one.number, one.told)
        for one in late
    )
