"""What stock is worth on a day, as known on a day: it follows from every movement up to then, in the order in which it happened.

What was taken back counts from the moment its correction is known; what is carried forward is a cache of the same (`value_points`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable
from fractions import Fraction
from typing import Any

from inventory.domain.places import PlaceKind
from inventory.domain.valuation import Worth
from inventory.models import Item, Part
from inventory.queries.value_points import books_of
from inventory.queries.value_walk import AsOf

Body = dict[str, Any]
_BATCH = 5000


def stock_value(as_of: AsOf, site: str = "") -> Body:
    """What is in stock by part, of one site or of all, with where everything else of the value is. JSON-ready. Seventeen queries at most.

    {"method", "rows": [{part, name, base, own_cost, amount, unknown, coins, each}], "coins", "received_coins", "counted_over_coins",
    "at_jobs_coins", "difference_coins", "gone": [{where, coins}], "adds_up"}. The sums beside the rows are the shop's. `each` is coins
    for one base unit, five places; "" where nothing has a cost.
    """
    books = books_of(as_of)
    rows = _rows(books.worth(), site)
    gone = {kind: coins for kind, coins in sorted(books.gone.items()) if coins}
    everything = books.in_stock + books.at_jobs + books.difference + sum(gone.values())
    return {
        "method": books.method.value,
        "site": site,
        "rows": rows,
        "coins": sum(row["coins"] for row in rows),
        "all_stock_coins": books.in_stock,
        "received_coins": books.came_in,
        "counted_over_coins": books.counted_over,
        "at_jobs_coins": books.at_jobs,
        "difference_coins": books.difference,
        "gone": [{"where": _GONE[kind], "coins": coins} for kind, coins in gone.items()],
        "adds_up": everything == books.came_in + books.counted_over,
    }


_GONE = {
    PlaceKind.ENGINE: "fitted",
    PlaceKind.SCRAP: "scrapped",
    PlaceKind.OWNER: "given to the owner",
    PlaceKind.SOLD: "sold at the counter",
    PlaceKind.WORKSHOP: "used in the workshop",
    PlaceKind.SUPPLIER: "returned to the supplier",
    PlaceKind.COUNT_DIFFERENCE: "counted short",
    PlaceKind.BEFORE_RECORDS: "was not ours",
}


def five_places(each: Fraction | None) -> str:
    """An exact price as it is shown: coins to five places, half up; "" for none."""
    if each is None:
        return ""
    whole = (each * 100_000 * 2 + 1) // 2
    return f"{whole // 100_000}.{whole % 100_000:05d}"


def _rows(found: dict[Hashable, Worth], site: str) -> list[Body]:
    """Things with a cost of their own are summed by part."""
    own = [key[1] for key in found if isinstance(key, tuple) and key[0] == "item"]
    of_item: dict[int, tuple[int, str]] = {}
    for start in range(0, len(own), _BATCH):
        rows = Item.objects.filter(pk__in=own[start : start + _BATCH])
        of_item |= {pk: (part, base) for pk, part, base in rows.values_list("pk", "part_id", "base")}
    sums: dict[tuple[int, str, bool], list[int]] = defaultdict(lambda: [0, 0, 0])
    for key, worth in found.items():
        assert isinstance(key, tuple)
        part, base = of_item[key[1]] if key[0] == "item" else (key[1], key[2])
        amount, coins, unknown = worth.amount, worth.coins, worth.unknown
        if site:
            amount, coins = worth.by_site.get(site, (0, 0))
            unknown = min(unknown, amount)
        if amount:
            row = sums[part, base, key[0] == "item"]
            row[0], row[1], row[2] = row[0] + amount, row[1] + coins, row[2] + unknown
    parts = Part.objects.in_bulk({part for part, _, _ in sums})
    return [
        {
            "part": parts[part].number,
            "name": parts[part].name,
            "base": base,
            "own_cost": single,
            "amount": amount,
            "unknown": unknown,
            "coins": coins,
            "each": five_places(Fraction(coins, amount - unknown) if amount > unknown else None),
        }
        for (part, base, single), (amount, coins, unknown) in sorted(
            sums.items(), key=lambda pair: (parts[pair[0][0]].number, pair[0][1:])
        )
    ]
