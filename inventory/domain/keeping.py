"""One sealed piece of each lot is kept back, so that there is something to test when an engine with that lot fails: which lots keep one.

What is kept is on hand and is counted; it is not free.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from inventory.domain.items import Base, Tracked

#: How many of a lot.
PIECES = 1


class HowEnded(StrEnum):
    """Why a piece is not kept any more. Only the first is for good: else one is kept anew where there is one."""

    RELEASED = "released"
    GIVEN_UP = "given up"
    MISSING = "missing"
    TAKEN_BACK = "taken back"


@dataclass(frozen=True, slots=True)
class KeepRules:
    """The shop's settings: lots of these kinds that were first received on `since` or later keep a piece; None: the shop keeps none."""

    since: date | None
    kinds: frozenset[str]


@dataclass(frozen=True, slots=True)
class LotIn:
    """A lot that came to a shelf, loose: kind, base and tracking of its part, and the day on which it was first received."""

    kind: str
    base: str
    tracked_by: str
    received_on: date | None


def keeps_one(lot: LotIn, rules: KeepRules) -> bool:
    """Whether a piece of the lot is kept. A lot of which nobody knows when it came keeps none."""
    if rules.since is None or lot.received_on is None or lot.received_on < rules.since:
        return False
    return lot.kind in rules.kinds and lot.base == Base.PIECE and lot.tracked_by == Tracked.LOT
