"""Purchase orders: how far a line is, which line a delivery answers, which promises passed. Pure; nothing of it is stored.

Whatever was rejected is awaited again, until the line is closed for it. Amounts in whole base units.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.domain.errors import DomainError
from inventory.domain.receiving import Delivered, totals

MOST_LINES = 500


@dataclass(frozen=True, slots=True)
class LineState:
    """How far a line is.

    given_up     will not come any more, as somebody said
    gone         was set aside and left for good before anybody accepted or rejected it: it came, and does not come again
    over         accepted, gone or in inspection beyond what was ordered and not given up
    outstanding  still to come
    """

    ordered: int
    delivered: int
    accepted: int
    rejected: int
    in_inspection: int
    given_up: int
    gone: int = 0

    @property
    def over(self) -> int:
        """Kept beyond what was ordered and not given up."""
        return max(0, self.accepted + self.gone + self.in_inspection - self.ordered + self.given_up)

    @property
    def outstanding(self) -> int:
        """Still to come."""
        return max(0, self.ordered - self.given_up - self.accepted - self.gone - self.in_inspection)

    @property
    def is_open(self) -> bool:
        """Something is still to come, or waits for an answer."""
        return self.outstanding > 0 or self.in_inspection > 0


def line_state(ordered: int, given_up: int, deliveries: Iterable[Delivered]) -> LineState:
    """The state of a line from what was delivered for it."""
    found = totals(deliveries)
    return LineState(
        ordered,
        found["delivered"],
        found["accepted"],
        found["rejected"],
        found["in_inspection"],
        given_up,
        found["gone"],
    )


@dataclass(frozen=True, slots=True)
class Ordered:
    """A line of an order that a delivery may answer: its row, its number on the order, part, and what is still to come."""

    row: int
    line: int
    part: int
    outstanding: int


@dataclass(frozen=True, slots=True)
class Coming:
    """A line of a delivery: part, amount, the number of the order's line if it names one; `bad`: rejected as it came."""

    part: int
    amount: int
    line: int | None = None
    bad: bool = False


@dataclass(frozen=True, slots=True)
class Share:
    """So much of a delivered line answers an order's line (None: none has this part); `over`: beyond what is still to come."""

    row: int | None
    amount: int
    over: bool = False


def allot(order: str, lines: Sequence[Ordered], coming: Sequence[Coming]) -> list[tuple[Share, ...] | DomainError]:
    """Set a delivery against the lines of an order, in the order in which both stand.

    A line that names none goes to those of its part, first to last. What is more than is still to come is an over-delivery of the
    last of them; what was rejected as it came takes up nothing. For each delivered line its shares, which add up to it, or why not:
    "not-found" (no such line), "wrong-part" (that line is for another part).
    """
    left = {one.row: one.outstanding for one in lines}
    return [_shares(order, lines, one, left) for one in coming]


def _shares(order: str, lines: Sequence[Ordered], one: Coming, left: dict[int, int]) -> tuple[Share, ...] | DomainError:
    fitting = [line for line in lines if line.part == one.part]
    if one.line is not None:
        named = next((line for line in lines if line.line == one.line), None)
        if named is None:
            return DomainError("not-found", f"Order {order} has no line {one.line}.", order=order, line=one.line)
        if named.part != one.part:
            return DomainError(
                "wrong-part", f"Line {one.line} of order {order} is for another part.", order=order, line=one.line
            )
        fitting = [named]
    if not fitting:
        return (Share(None, one.amount),)
    if one.bad:
        first = next((line for line in fitting if left[line.row] > 0), fitting[-1])
        return (Share(first.row, one.amount),)
    shares, rest = [], one.amount
    for line in fitting:
        taken = min(rest, left[line.row])
        if taken > 0:
            shares.append(Share(line.row, taken))
            left[line.row] -= taken
            rest -= taken
    if rest:
        shares.append(Share(fitting[-1].row, rest, over=True))
    return tuple(shares)


def passed(promises: Iterable[date], arrived_on: date | None, on: date) -> tuple[date, ...]:
    """The promised days that went by, seen on a day, before all of the line had arrived; each day once, earliest first.

    A promise that was replaced by a later one counts too: the day went by without the goods.
    """
    until = on if arrived_on is None else min(on, arrived_on)
    return tuple(sorted({day for day in promises if day < until}))


def complete_on(wanted: int, arrivals: Iterable[tuple[date, int]]) -> date | None:
    """The day on which the amounts first add up to what is wanted; None: they never do, or nothing is wanted.

    arrivals   (day, amount), also below zero for what was taken away again; of one day all are taken together
    """
    by_day: dict[date, int] = {}
    for day, amount in arrivals:
        by_day[day] = by_day.get(day, 0) + amount
    total, reached = 0, None
    for day in sorted(by_day):
        total += by_day[day]
        if total < wanted:
            reached = None
        elif reached is None:
            reached = day
    return reached if wanted > 0 else None


def check_given_up(state: LineState, line: int, amount: int | None) -> int:
    """How much of a line is closed: what is asked, or all that is still to come.

    DomainError "line-done" where nothing is still to come, "more-than-outstanding", "amount-not-positive".
    """
    if state.outstanding == 0:
        raise DomainError("line-done", f"Nothing of line {line} is still to come.", line=line)
    if amount is None:
        return state.outstanding
    if amount <= 0:
        raise DomainError("amount-not-positive", f"Line {line}: {amount} closes nothing.", line=line)
    if amount > state.outstanding:
        raise DomainError(
            "more-than-outstanding",
            f"Line {line}: {amount} are more than the {state.outstanding} still to come.",
            line=line,
            outstanding=state.outstanding,
        )
    return amount
