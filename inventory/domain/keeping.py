"""One sealed piece of each lot is kept back, so that there is something to test when an engine with that lot fails: which lots keep one.

What is kept is on hand and is counted; it is not free.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from inventory.domain.items import Base, Tracked

#: How many of a lot.
PIECES = 1
#: So many free ones there are at least where one is kept: the only one of a lot is for the engine that waits for it.
LEAST = 2


class HowEnded(StrEnum):
    """Why a piece is not kept any more at its spot. Only the first is for good: else one is kept anew where there is one. One that was
    moved is kept where it went."""

    RELEASED = "released"
    GIVEN_UP = "given up"
    MISSING = "missing"
    TAKEN_BACK = "taken back"
    MOVED = "moved"


@dataclass(frozen=True, slots=True)
class KeepRules:
    """The shop's settings: lots of these kinds that first came on `since` or later keep a piece; None: the shop keeps none."""

    since: date | None
    kinds: frozenset[str]


@dataclass(frozen=True, slots=True)
class LotIn:
    """A lot that came to a shelf, loose: kind, base and tracking of its part; the days on which it, the kit that it came out of, and the
    kit around that one were first received, None where nobody knows; how many of it are free on all shelves."""

    kind: str
    base: str
    tracked_by: str
    received_on: Sequence[date | None]
    free: int


def keeps_one(lot: LotIn, rules: KeepRules) -> bool:
    """Whether a piece of the lot is kept. One that came in a kit came when the kit did; of which nobody knows when it came keeps none."""
    came_on = next((day for day in lot.received_on if day is not None), None)
    if rules.since is None or came_on is None or came_on < rules.since or lot.free < LEAST:
        return False
    return lot.kind in rules.kinds and lot.base == Base.PIECE and lot.tracked_by == Tracked.LOT


def left_to_job(opened: bool, subject: str, shorts: bool) -> str:
    """Why an act keeps nothing of what it laid on a shelf: a kit that was opened for a job is that job's first. Empty: it keeps.

    opened   a kit was opened; subject: the job it was for; shorts: a hold of a job on it ended thereby
    """
    if opened and subject:
        return f"it was opened for {subject}, which comes first; what comes back of it keeps one"
    if opened and shorts:
        return "a job was promised the kit and comes first; what comes back of it keeps one"
    return ""
