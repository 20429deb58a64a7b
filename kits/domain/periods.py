"""From movements at the use positions of an engine to periods: what sat where, from when to when."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Change:
    """An item came to a position (amount above zero) or left it (below); `order` decides between changes of one moment."""

    position: str
    item: int
    amount: int
    at: datetime
    order: int
    act: int


@dataclass(frozen=True, slots=True)
class Period:
    """So much of an item sat at a position from `since` until just before `until`; None: it still sits there."""

    position: str
    item: int
    amount: int
    since: datetime
    until: datetime | None
    act_in: int
    act_out: int | None


def periods(changes: Iterable[Change]) -> tuple[Period, ...]:
    """The periods of all positions, by position, beginning and item.

    What leaves is what came first, so what is left came last; of one piece at one position there is no choice. Periods of no
    length (in and out at one moment) are left out: nothing sat there. Changes that were taken back are left out by the caller.
    """
    lying: dict[tuple[str, int], deque[tuple[int, Change]]] = defaultdict(deque)
    found: list[Period] = []
    for change in sorted(changes, key=lambda one: (one.at, one.order)):
        heap = lying[change.position, change.item]
        if change.amount > 0:
            heap.append((change.amount, change))
            continue
        leaving = -change.amount
        while leaving and heap:
            amount, came = heap.popleft()
            part = min(amount, leaving)
            leaving -= part
            if amount > part:
                heap.appendleft((amount - part, came))
            if came.at < change.at:
                found.append(Period(came.position, came.item, part, came.at, change.at, came.act, change.act))
    for heap in lying.values():
        found += [Period(came.position, came.item, amount, came.at, None, came.act, None) for amount, came in heap]
    return tuple(
        sorted(
            found,
            key=lambda one: (
                one.position,
                one.since,
                one.item,
                one.act_in,
                one.until or datetime.max.replace(tzinfo=one.since.tzinfo),
            ),
        )
    )
