"""What is held for one job lent to another: the donor's word in time, the payback against the donor's day. Pure.

Who is asked has a limit to answer in; silence is no consent: the thing stays with the donor.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum


class Word(StrEnum):
    """How a request to lend stands."""

    ASKED = "asked"
    AGREED = "agreed"
    REFUSED = "refused"
    STAYS = "no consent in time: stays with the donor"


def in_time(asked_at: datetime, answered_at: datetime, minutes: int) -> bool:
    """Whether an answer came within the limit; on the limit is in time."""
    return answered_at - asked_at <= timedelta(minutes=minutes)


def word(asked_at: datetime, agreed: bool | None, now: datetime, minutes: int) -> Word:
    """How a request stands, seen at a moment; `agreed` None: nobody answered. An answer is only taken in time."""
    if agreed is not None:
        return Word.AGREED if agreed else Word.REFUSED
    return Word.ASKED if in_time(asked_at, now, minutes) else Word.STAYS


def payback_late(promised_on: date | None, needed_on: date, on: date, *, lent: int, came: int, coming: int) -> bool:
    """Whether the donor is short, seen on a day: nothing is promised, or only for after its day; it will not come any more; or its day went by
    without it. On the day is in time.

    came, coming   of the line that pays back: so much of it is accepted, so much is still to come or in inspection
    """
    if promised_on is None or promised_on > needed_on or came + coming < lent:
        return True
    return promised_on < on and came < lent


@dataclass(frozen=True, slots=True)
class Split:
    """What a hold of the donor becomes: what stays, with the positions it serves, and the positions of what is lent."""

    rest: int
    kept: list[list[str | int]]
    given: list[list[str | int]]


def split(amount: int, lent: int, positions: list[list[str | int]]) -> Split:
    """Split a hold of `amount` whole base units, of which `lent` go. 0 < lent <= amount.

    positions  [use position, make, amount] that the hold serves. What serves no position goes first, then the last positions; a
               position with the amount 0 (of one more beside the list) stays with what stays, and goes when all goes.
    """
    spare = amount - sum(int(share[2]) for share in positions)
    take = max(0, lent - max(0, spare))
    kept: list[list[str | int]] = []
    given: list[list[str | int]] = []
    for name, make, here in reversed(positions):
        units = int(here)
        goes = min(units, take)
        take -= goes
        if goes:
            given.append([name, make, goes])
        if units - goes or (not units and lent < amount):
            kept.append([name, make, units - goes])
        elif not units:
            given.append([name, make, 0])
    return Split(amount - lent, kept[::-1], given[::-1])
