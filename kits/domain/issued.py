"""Where everything went that a job was issued: issued = fitted + returned + scrapped + still at the bench, with every other way named.
Pure.

Whole base units. Every movement over the edge of the job's own places (its cart and its bench) is counted once, by the kind of
place on the other side; what has come and not gone is still there. Nothing here is read from what stands there, so that the two can
be held against each other.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.domain.places import PlaceKind

#: Kind of place that a thing came from → how it came.
CAME: Mapping[PlaceKind, str] = {
    PlaceKind.SHELF: "issued",
    PlaceKind.QUARANTINE: "issued",
    PlaceKind.SUPPLIER: "issued",
    PlaceKind.ENGINE: "out_of_engine",
    PlaceKind.CONVERSION: "made_here",
    PlaceKind.COUNT_DIFFERENCE: "counted_over",
}
#: Kind of place that a thing went to → how it went.
WENT: Mapping[PlaceKind, str] = {
    PlaceKind.ENGINE: "fitted",
    PlaceKind.SHELF: "returned",
    PlaceKind.QUARANTINE: "returned",
    PlaceKind.SCRAP: "scrapped",
    PlaceKind.CONVERSION: "taken_apart",
    PlaceKind.COUNT_DIFFERENCE: "counted_short",
    PlaceKind.OWNER: "given_back",
}


@dataclass(frozen=True, slots=True)
class Passed:
    """So much of an item came to the job (`came`), or left it; `other`: what kind of place is on the other side."""

    item: int
    amount: int
    came: bool
    other: PlaceKind


@dataclass(frozen=True, slots=True)
class Account:
    """One item on one job.

    issued         from a shelf or quarantine, or bought for it in an emergency; made_here: out of an opened kit or tube, or a broken set
    out_of_engine  removed; came_otherwise: from outside work, a crate, another job
    fitted         into the engine, old parts that went back too
    returned       to a shelf or quarantine; taken_apart: opened, or a set that was broken
    went_elsewhere to outside work, a crate, another job
    """

    issued: int = 0
    made_here: int = 0
    out_of_engine: int = 0
    counted_over: int = 0
    came_otherwise: int = 0
    fitted: int = 0
    returned: int = 0
    scrapped: int = 0
    taken_apart: int = 0
    counted_short: int = 0
    given_back: int = 0
    went_elsewhere: int = 0

    @property
    def came(self) -> int:
        """All that came to the job."""
        return self.issued + self.made_here + self.out_of_engine + self.counted_over + self.came_otherwise

    @property
    def went(self) -> int:
        """All that left it."""
        gone = self.fitted + self.returned + self.scrapped + self.taken_apart
        return gone + self.counted_short + self.given_back + self.went_elsewhere

    @property
    def still_here(self) -> int:
        """What must stand on its cart and bench; below nothing: the movements are wrong."""
        return self.came - self.went


def accounts(passed: Iterable[Passed]) -> dict[int, Account]:
    """Item → its account, of every item that came to the job or left it; in order of the items."""
    sums: dict[int, Counter[str]] = {}
    for one in passed:
        way = CAME.get(one.other, "came_otherwise") if one.came else WENT.get(one.other, "went_elsewhere")
        sums.setdefault(one.item, Counter())[way] += one.amount
    return {item: Account(**sums[item]) for item in sorted(sums)}
