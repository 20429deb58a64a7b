"""One sealed piece of each lot is kept back, so that there is something to test when an engine with that lot fails: which lots keep one.

What is kept is on hand and is counted; it is not free.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

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
    """The shop's settings: lots of these kinds that first came on `since` or later keep a piece; None: the shop keeps none.

    Of parts counted in pieces and told apart by lot, where `LEAST` or more of the lot are free on all shelves. One that came in a kit
    came when the kit did; of which nobody knows when it came keeps none. `inventory.services.keeping` asks the books for all such lots at once.
    """

    since: date | None
    kinds: frozenset[str]


def left_to_job(opened: bool, subject: str, shorts: bool) -> str:
    """Why an act keeps nothing of what it laid on a shelf: a kit that was opened for a job is that job's first. Empty: it keeps.

    opened   a kit was opened; subject: the job it was for; shorts: a hold of a job on it ended thereby
    """
    if opened and subject:
        return f"it was opened for {subject}, which comes first; what comes back of it keeps one"
    if opened and shorts:
        return "a job was promised the kit and comes first; what comes back of it keeps one"
    return ""
