"""Old units that go back to their supplier, and the deposits that hang on them. Pure; money in whole coins, days by the shop's calendar.

A deposit is paid to a supplier for a part that comes in exchange for an old one, or taken in from a customer. What is outstanding of it
is what was paid, less what was refunded, less what was lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.quantities import MAX_BASE_AMOUNT

#: Where a thing may lie that is to be an old unit; what is on a shelf or a cart is stock.
FROM = frozenset({PlaceKind.BENCH, PlaceKind.QUARANTINE, PlaceKind.CRATE})
#: Where old units are kept.
TO = frozenset({PlaceKind.CRATE, PlaceKind.QUARANTINE})
MOST_DAYS = 3650


class Grade(StrEnum):
    """The condition of an old unit, as it is looked at when it comes in."""

    COMPLETE = "complete"
    INCOMPLETE = "incomplete"
    DAMAGED = "damaged"
    UNKNOWN = "not looked at"


class Side(StrEnum):
    """Who has, or gave, the money of a deposit."""

    SUPPLIER = "supplier"
    CUSTOMER = "customer"


class What(StrEnum):
    """What an entry of a deposit says."""

    PAID = "paid"
    REFUNDED = "refunded"
    LOST = "lost"


#: So many days before its limit somebody is reminded of a deposit: an old unit has to be found, packed and sent. The shop's own choice.
WARNED_DAYS = 7


class Risk(StrEnum):
    """Why money of a deposit is at risk."""

    NO_UNIT = "no old unit is tagged for it"
    MISSING = "the old unit is missing"
    HERE = "the old unit was not sent back"
    SENT_LATE = "the old unit was sent back after its limit"


@dataclass(frozen=True, slots=True)
class Open:
    """A deposit at a supplier of which something is outstanding.

    due_on   last day on which its old unit may be sent back
    tagged   an old unit is tied to it; here: it stands in one of our places
    sent_on  when the unit was sent back, None: it was not
    """

    outstanding_coins: int
    due_on: date | None
    tagged: bool
    here: bool
    sent_on: date | None


def check_coins(coins: int) -> None:
    """DomainError "amount-not-positive", "amount-too-large"."""
    if coins <= 0:
        raise DomainError("amount-not-positive", f"{coins} coins are no deposit.", coins=coins)
    if coins > MAX_BASE_AMOUNT:
        raise DomainError("amount-too-large", f"{coins} coins are more than any deposit.", coins=coins)


def check_places(label: str, origin: PlaceKind | None, target: PlaceKind) -> None:
    """Bench, van, quarantine or crate to quarantine or crate; origin None: it was brought in. DomainError "wrong-place"."""
    if origin is not None and origin not in FROM:
        raise DomainError(
            "wrong-place",
            f"{label} lies at {a(origin)}: an old unit comes from a bench, quarantine or a crate.",
            ways_out=("Remove it from the engine first.",) if origin is PlaceKind.ENGINE else (),
            kind=origin.value,
        )
    if target not in TO:
        raise DomainError(
            "wrong-place",
            f"Old units are kept in crates or in quarantine, not at {a(target)}.",
            kind=target.value,
        )


def limit_day(day: date, days: Iterable[int | None]) -> date | None:
    """The last day for sending back, counted from `day` by the first of these terms that is known; None: none is."""
    known = next((number for number in days if number is not None), None)
    return None if known is None else day + timedelta(days=known)


def outstanding(entries: Iterable[tuple[What, int, bool]]) -> int:
    """Paid less refunded less lost, of (what, coins, whether it takes such an entry back)."""
    total = 0
    for what, coins, back in entries:
        sign = (1 if what is What.PAID else -1) * (-1 if back else 1)
        total += sign * coins
    return total


def risk_of(one: Open, day: date, within_days: int = 0) -> tuple[Risk, int] | None:
    """Why the money is at risk on a day, and how many days are left (below zero: past the limit); None where it is not.

    A limit that comes within so many days counts, the limit's own day always; a unit that was sent back by then does not.
    """
    if one.outstanding_coins <= 0 or one.due_on is None:
        return None
    left = (one.due_on - day).days
    if one.sent_on is not None:
        return (Risk.SENT_LATE, left) if one.sent_on > one.due_on else None
    if left > within_days:
        return None
    if not one.tagged:
        return Risk.NO_UNIT, left
    return (Risk.HERE if one.here else Risk.MISSING), left


def sums(rows: Iterable[tuple[str, What, int, bool]]) -> Mapping[str, dict[What, int]]:
    """(holder, what, coins, taken back) → holder → what → coins that stand."""
    found: dict[str, dict[What, int]] = {}
    for holder, what, coins, back in rows:
        mine = found.setdefault(holder, dict.fromkeys(What, 0))
        mine[what] += -coins if back else coins
    return found
