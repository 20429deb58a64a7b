"""What is held for one job lent to another: the donor's word in time, the payback against the donor's day, how a loan ends. Pure.

Who is asked has a limit to answer in; silence is no consent: the thing stays with the donor. What was asked for and is held no more, because
it was picked, released, counted away or stopped, is lent no more either.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum


class Word(StrEnum):
    """How a request to lend stands."""

    ASKED = "asked"
    AGREED = "agreed"
    REFUSED = "refused"
    STAYS = "no consent in time: stays with the donor"
    LAPSED = "lapsed: what was asked for is held no more"


class HowOver(StrEnum):
    """How a loan ended."""

    GIVEN_BACK = "given back"
    PAID_BACK = "paid back"
    NOT_COMING = "not coming back"


def in_time(asked_at: datetime, answered_at: datetime, minutes: int) -> bool:
    """Whether an answer came within the limit; on the limit is in time."""
    return answered_at - asked_at <= timedelta(minutes=minutes)


def word(asked_at: datetime, agreed: bool | None, now: datetime, minutes: int, gone_at: datetime | None = None) -> Word:
    """How a request stands, seen at a moment; `agreed` None: nobody answered. An answer is only taken in time. gone_at: when its hold ended, if
    that was before anything was lent on it; one that nobody had answered by its limit was over before that."""
    if agreed is False:
        return Word.REFUSED
    if gone_at is not None and (agreed or in_time(asked_at, gone_at, minutes)):
        return Word.LAPSED
    if agreed:
        return Word.AGREED
    return Word.ASKED if in_time(asked_at, now, minutes) else Word.STAYS


def payback_late(promised_on: date | None, needed_on: date, on: date, *, lent: int, came: int, coming: int) -> bool:
    """Whether the donor is short, seen on a day: nothing is promised, or only for after its day; it will not come any more; or its day went by
    without it. On the day is in time, and what has come is late no more, whatever was promised.

    came, coming   of the line that pays back, this loan's share (`shared_out`): accepted since it was lent; still to come or in inspection
    """
    if came >= lent:
        return False
    if promised_on is None or promised_on > needed_on or came + coming < lent:
        return True
    return promised_on < on


@dataclass(frozen=True, slots=True)
class Owed:
    """A loan that an order's line pays back, whole base units.

    since      the act that lent it: what came of the line before pays nothing back
    needed_on  the day on which the lending job needs it next
    until      the act that said that it was paid back; None while the loan runs
    """

    loan: int
    amount: int
    since: int
    needed_on: date
    until: int | None = None


@dataclass(frozen=True, slots=True)
class Share:
    """What of a line is one loan's: so much came, so much is to come; and the running loans that are served before it."""

    came: int = 0
    coming: int = 0
    before: tuple[int, ...] = ()


def shared_out(owed: Iterable[Owed], came: Iterable[tuple[int, int]], coming: int) -> dict[int, Share]:
    """Loan -> its share of a line that pays back all of these.

    What was said to be paid back keeps what had come by then. The rest goes to the running loans, who needs it first first, of equal days
    the older loan; each until it has all of it. What is to come goes the same way.

    came    (act, accepted) of each delivery, whole base units; coming: still to come or in inspection
    """
    left: dict[int, int] = {}
    for act, amount in sorted(came):
        left[act] = left.get(act, 0) + amount
    owed = list(owed)
    over = sorted((one for one in owed if one.until is not None), key=lambda one: (one.until, one.loan))
    running = sorted((one for one in owed if one.until is None), key=lambda one: (one.needed_on, one.since, one.loan))
    shares: dict[int, Share] = {}
    for at, one in enumerate([*over, *running]):
        got = 0
        for act in left:
            if one.since < act and (one.until is None or act < one.until):
                taken = min(left[act], one.amount - got)
                left[act] -= taken
                got += taken
        still = min(coming, one.amount - got) if one.until is None else 0
        coming -= still
        before = tuple(its.loan for its in running[: max(0, at - len(over))])
        shares[one.loan] = Share(got, still, before if one.until is None else ())
    return shares


@dataclass(frozen=True, slots=True)
class Fate:
    """What became of what was lent, whole base units: still held for the borrower, picked for it, or held no more without having been
    picked (stopped, counted away, released, …)."""

    held: int = 0
    picked: int = 0
    gone: int = 0


def fate_of(holds: Iterable[tuple[int, bool, int]]) -> Fate:
    """Over the holds that the borrower got: (amount, whether it ended, how much of it was picked)."""
    held = picked = gone = 0
    for amount, ended, taken in holds:
        held += 0 if ended else amount
        picked += taken
        gone += amount - taken if ended else 0
    return Fate(held, picked, gone)


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
