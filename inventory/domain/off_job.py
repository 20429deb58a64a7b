"""What leaves or comes in beside jobs and orders: sold at the counter, used in the workshop, bought in an emergency. Pure.

Each says why, and whether it counts as demand: the history of a part is what jobs were issued, less what they brought back, and these.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.shelf_life import usable_on
from inventory.domain.stores import Carried, check_sellable


class What(StrEnum):
    """Which of the three it was."""

    COUNTER = "counter sale"
    WORKSHOP = "workshop use"
    EMERGENCY = "emergency buy"


@dataclass(frozen=True, slots=True)
class Leaving:
    """A thing that is to be sold or used up: from what kind of place, whether it is stopped, its last day."""

    thing: Carried
    origin: PlaceKind
    tube: bool
    stopped: bool
    use_by: date | None


def check_leaves(what: What, one: Leaving, day: date) -> None:
    """Off a shelf, whole, not stopped; to a customer nothing that is opened or past its day, which the workshop may still use up.

    DomainError "wrong-place", "half-a-set", "lot-unknown", "part-unusable", "stopped", "expired".
    """
    label = one.thing.label
    if one.thing.orphan:
        raise DomainError(
            "half-a-set",
            f"{label} is half a set: that is {_said(what)} to nobody.",
            ways_out=("Scrap it.",),
            item=label,
        )
    if one.origin is not PlaceKind.SHELF:
        raise DomainError(
            "wrong-place", f"{label} is {_said(what)} off a shelf, not off {a(one.origin)}.", kind=one.origin.value
        )
    check_sellable(one.thing)
    if one.stopped:
        raise DomainError("stopped", f"{label} is stopped: it is not {_said(what)} until it is freed.", item=label)
    if what is not What.COUNTER:
        return
    if one.tube:
        raise DomainError("part-unusable", f"{label} is opened: it is not sold.", item=label)
    if not usable_on(one.use_by, day):
        raise DomainError(
            "expired",
            f"{label} is past its day, {one.use_by}: it is not sold.",
            ways_out=("Scrap it.",),
            item=label,
            use_by=one.use_by.isoformat() if one.use_by else "",
        )


def check_pack(label: str, asked: int, free: int, pack: int, loose: bool) -> None:
    """Where a part is not issued loose, whole packs leave its bin, or all that is free there: the rest of one that came open.

    asked, free   whole base units off one bin, and what is free there; pack: of the part. DomainError "pack-not-whole" offers whole packs
    """
    if loose or pack <= 1 or asked % pack == 0 or asked >= free:
        return
    whole = min(asked + -asked % pack, free)
    raise DomainError(
        "pack-not-whole",
        f"{label} is not issued loose: its packs of {pack} are not broken for {asked}.",
        ways_out=(f"Take {whole}: the pack goes whole.", "Say in the part's record that it may be issued loose."),
        item=label,
        asked=asked,
        pack=pack,
        whole=whole,
    )


def _said(what: What) -> str:
    return "sold" if what is What.COUNTER else "used up"


def check_returns(label: str, asked: int, sold: int, back: int) -> None:
    """No more of a sold line comes back than went. DomainError "more-than-outstanding"."""
    if asked > sold - back:
        raise DomainError(
            "more-than-outstanding",
            f"{sold} of {label} were sold and {back} brought back; {asked} more were named.",
            item=label,
            outstanding=sold - back,
        )


class Way(StrEnum):
    """How something counts in the history of a part."""

    ISSUED = "issued"
    RETURNED = "returned"
    SOLD = "sold"
    WORKSHOP = "workshop"
    BOUGHT = "bought"
    NOT_COUNTED = "not_counted"


@dataclass(frozen=True, slots=True)
class Used:
    """So much of a part in a month ("2025-01"), by one way; whole base units."""

    part: int
    month: str
    way: Way
    amount: int


@dataclass(frozen=True, slots=True)
class Month:
    """One part in one month. issued to jobs, returned by them; sold, workshop, bought: flagged as demand, less what was brought back;
    not_counted: sold or used with the word that it is no demand."""

    issued: int = 0
    returned: int = 0
    sold: int = 0
    workshop: int = 0
    bought: int = 0
    not_counted: int = 0

    @property
    def demand(self) -> int:
        """What counts; below nothing where more came back in the month than went."""
        return self.issued - self.returned + self.sold + self.workshop + self.bought


def by_month(rows: Iterable[Used]) -> dict[tuple[int, str], Month]:
    """(part, month) → its sums, sorted by both; months without anything are left out."""
    sums: dict[tuple[int, str], dict[str, int]] = {}
    for row in rows:
        one = sums.setdefault((row.part, row.month), {})
        one[row.way.value] = one.get(row.way.value, 0) + row.amount
    return {key: Month(**sums[key]) for key in sorted(sums)}
