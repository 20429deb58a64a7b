"""What a job costs: charged when a thing comes to its bench, credited at the same cost when it comes back. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.domain.places import PlaceKind
from inventory.domain.valuation import STOCK, Entry
from kits.domain.issued import Account, Passed, accounts


@dataclass(frozen=True, slots=True)
class Cost:
    """One item on one job: coins by the ways they came and went, and how many were issued and returned.

    unknown  of those issued were in suspense: their coins are not in it
    """

    coins: Account
    issued: int
    returned: int
    unknown: int

    @property
    def net(self) -> int:
        """What the job is charged with: issued less returned."""
        return self.coins.issued - self.coins.returned


def job_costs(entries: Iterable[Entry], bench: int, cart: int) -> dict[int, Cost]:
    """Item → its cost, of every item of value that came to the bench; in order of the items.

    Stock on the cart is not charged yet; what goes from there to no stock (into the engine, to scrap) is charged as it goes.
    """
    passed: list[Passed] = []
    counts: dict[int, list[int]] = {}
    for one in entries:
        to, away = one.target.place == bench, one.origin.place == bench
        from_cart = one.origin.place == cart and one.target.kind not in STOCK and not to
        if not (to or away or from_cart) or one.old == one.amount:
            continue
        count = counts.setdefault(one.item, [0, 0, 0])
        if to or from_cart:
            other = PlaceKind.SHELF if one.origin.kind in STOCK else one.origin.kind
            passed.append(Passed(one.item, one.coins, True, other))
            if other is PlaceKind.SHELF:
                count[0] += one.amount - one.old
                count[2] += one.unknown
        if away or from_cart:
            other = PlaceKind.SHELF if one.target.kind in STOCK else one.target.kind
            passed.append(Passed(one.item, one.coins, False, other))
            if other is PlaceKind.SHELF:
                count[1] += one.amount - one.old
                count[2] -= one.unknown
    return {item: Cost(account, *counts[item]) for item, account in accounts(passed).items()}
