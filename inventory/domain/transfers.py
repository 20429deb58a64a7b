"""Between sites: what may ride in the van, what a line of a note still has in it, why what comes goes to quarantine. Pure.

sent = taken in + found later + sent back + scrapped + counted short + in transit, whole base units; the last is what the van's
spot of that note holds. Once the receiver signed, what is still in transit is unexplained.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.shelf_life import usable_on
from inventory.domain.stores import Carried, check_sellable

#: From where things ride: carts and benches have ways of their own to bring a thing back first.
RIDES_FROM = frozenset({PlaceKind.SHELF, PlaceKind.QUARANTINE})
#: Days on the road that nobody will say: further than any van goes.
MOST_DAYS = 60


class How(StrEnum):
    """What became of something that did not come as its note said."""

    FOUND = "found later"
    SENT_BACK = "sent back"
    SCRAPPED = "scrapped"
    COUNTED_SHORT = "counted short"


class State(StrEnum):
    """How a note stands."""

    ON_THE_WAY = "on the way"
    UNEXPLAINED = "in transit, unexplained"
    DONE = "done"
    TAKEN_BACK = "taken back"


@dataclass(frozen=True, slots=True)
class LineState:
    """How far a line is; `explained`: by what became of it."""

    sent: int
    came: int
    explained: Mapping[How, int]

    @property
    def in_transit(self) -> int:
        """Neither taken in nor explained: it is the shop's, and counted at no shelf."""
        return self.sent - self.came - sum(self.explained.values())


def state_of(in_transit: int, signed: bool, taken_back: bool) -> State:
    """How a note stands, from what of all its lines is in transit, and whether the receiver signed."""
    if taken_back:
        return State.TAKEN_BACK
    if not in_transit:
        return State.DONE
    return State.UNEXPLAINED if signed else State.ON_THE_WAY


def check_rides(thing: Carried, origin: PlaceKind, stopped: bool, use_by: date | None, day: date) -> None:
    """Whether it may be sent to another site: out of a quarantine into theirs, else only what may be used.

    DomainError "wrong-place", "set-broken", "lot-unknown", "stopped", "expired".
    """
    if origin not in RIDES_FROM:
        raise DomainError(
            "wrong-place",
            f"{thing.label} is sent from a shelf or from quarantine, not from {a(origin)}.",
            ways_out=("Bring it back to its shelf first.",),
            item=thing.label,
            kind=origin.value,
        )
    if origin is PlaceKind.QUARANTINE:
        return
    check_sellable(thing)
    if stopped:
        raise DomainError(
            "stopped",
            f"{thing.label} is stopped: it does not ride for use elsewhere.",
            ways_out=("Bring it to quarantine here, and send it from there.",),
            item=thing.label,
        )
    if not usable_on(use_by, day):
        raise DomainError(
            "expired",
            f"{thing.label} is past its day, {use_by}.",
            ways_out=("Scrap it.", "Bring it to quarantine."),
            item=thing.label,
            use_by=use_by.isoformat() if use_by else "",
        )


def why_aside(from_quarantine: bool, stopped: bool, use_by: date | None, day: date) -> str:
    """Why what comes goes to quarantine; "" where it may lie on a shelf."""
    if from_quarantine:
        return "it was sent out of quarantine"
    if stopped:
        return "it is stopped"
    return "" if usable_on(use_by, day) else f"it is past its day, {use_by}"


def days_between(table: Mapping[str, Mapping[str, int]], one: str, other: str) -> int | None:
    """Days on the road between two sites by the shop's table {"TB": {"QY": 1}}, which holds both ways; None: nobody said."""
    found = table.get(one, {}).get(other, table.get(other, {}).get(one))
    return found if isinstance(found, int) and 0 <= found <= MOST_DAYS else None


def here_on(day: date, days: int | None) -> date | None:
    """The day on which it could be here, if it leaves on that day; None where nobody said how long it takes."""
    return None if days is None else day + timedelta(days=days)


def open_lines(given: Mapping[int, int], wanted: Mapping[int, int]) -> tuple[int, ...]:
    """Numbers of lines that still have something in transit (`wanted`: line to amount) and are not answered in `given`."""
    return tuple(line for line, amount in sorted(wanted.items()) if amount > 0 and line not in given)
