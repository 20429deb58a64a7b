"""What each thing on a shelf costs, so that it goes out with its cost and comes in again with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable

from inventory.domain.money import split_total
from inventory.domain.valuation import STOCK
from inventory.models import Balance
from inventory.queries.value_points import books_of
from inventory.queries.value_walk import AsOf


def coins_of_balances() -> dict[int, int]:
    """Balance → its coins as of now. What costs on an average or by layers is shared by amount over every place of stock; what has no
    cost is left out. One query more than `books_of`."""
    standing: dict[Hashable, list[tuple[int, int]]] = defaultdict(list)
    rows = Balance.objects.filter(amount__gt=0, place__kind__in=[kind.value for kind in STOCK]).order_by("pk")
    for pk, item, part, base, single, tube, amount in rows.values_list(
        "pk", "item_id", "part_id", "item__base", "item__single", "item__tube_id", "amount"
    ):
        standing[("item", item) if single or tube else ("part", part, base)].append((pk, amount))
    found: dict[int, int] = {}
    for key, worth in books_of(AsOf()).worth().items():
        if worth.coins > 0 and standing[key]:
            shares = split_total(worth.coins, [amount for _, amount in standing[key]])
            found |= {pk: coins for (pk, _), coins in zip(standing[key], shares, strict=True) if coins}
    return found
