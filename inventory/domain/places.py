"""Kinds of places. Everything that is moved goes from one place to another; some places are only our books' own."""

from __future__ import annotations

from enum import StrEnum


class PlaceKind(StrEnum):
    """What a place is. The second group are real places; the first are only the books' own, and are never shown as places:
    say *received from*, *scrapped*, *counted short or over*, *given back to the owner*, *sold at the counter*."""

    SUPPLIER = "supplier"
    SCRAP = "scrap"
    COUNT_DIFFERENCE = "count difference"
    CONVERSION = "conversion"
    BEFORE_RECORDS = "before our records"
    OWNER = "owner"
    SOLD = "sold"
    WORKSHOP = "workshop use"

    SHELF = "shelf"
    CART = "cart"
    BENCH = "bench"
    ENGINE = "engine"
    VAN = "van"
    QUARANTINE = "quarantine"
    OUTSIDE = "outside work"
    CRATE = "old-unit crate"


#: Places that are only the books' own: their balance may be below zero.
BOOKS_ONLY = frozenset(
    {
        PlaceKind.SUPPLIER,
        PlaceKind.SCRAP,
        PlaceKind.COUNT_DIFFERENCE,
        PlaceKind.CONVERSION,
        PlaceKind.BEFORE_RECORDS,
        PlaceKind.OWNER,
        PlaceKind.SOLD,
        PlaceKind.WORKSHOP,
    }
)

#: How a movement is said to a person, by the books-only place on one side of it.
SAID_FROM = {
    PlaceKind.SUPPLIER: "received from the supplier",
    PlaceKind.SCRAP: "taken back from scrap",
    PlaceKind.COUNT_DIFFERENCE: "counted over",
    PlaceKind.CONVERSION: "made by opening, breaking or assembling",
    PlaceKind.BEFORE_RECORDS: "was in the engine before our records",
    PlaceKind.OWNER: "brought by the owner",
    PlaceKind.SOLD: "brought back by a buyer",
    PlaceKind.WORKSHOP: "taken back from the workshop's own use",
}
SAID_TO = {
    PlaceKind.SUPPLIER: "returned to the supplier",
    PlaceKind.SCRAP: "scrapped",
    PlaceKind.COUNT_DIFFERENCE: "counted short",
    PlaceKind.CONVERSION: "opened, broken or assembled",
    PlaceKind.BEFORE_RECORDS: "never was in the engine",
    PlaceKind.OWNER: "given back to the owner",
    PlaceKind.SOLD: "sold at the counter",
    PlaceKind.WORKSHOP: "used in the workshop",
}

#: The spot of a place that has no named spots.
NO_SPOT = "-"


def is_real(kind: PlaceKind) -> bool:
    """True where a balance may never be below zero."""
    return kind not in BOOKS_ONLY


def said_from(kind: PlaceKind, *, taken_back: bool = False) -> str:
    """Where a movement came from, where that is only the books' own: "counted over"; "" for a real place.

    taken_back   the movement is that of a correction: what it takes back is said ("taken back: scrapped")
    """
    return f"taken back: {SAID_TO[kind]}" if taken_back and kind in SAID_TO else SAID_FROM.get(kind, "")


def said_to(kind: PlaceKind, *, taken_back: bool = False) -> str:
    """Where a movement went, as `said_from`."""
    return f"taken back: {SAID_FROM[kind]}" if taken_back and kind in SAID_FROM else SAID_TO.get(kind, "")
