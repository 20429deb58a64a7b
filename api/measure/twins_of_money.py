"""What stock is worth and what a job is charged, by hand: one query over every movement from the first on, and plain numbers.

It knows only what the synthetic shop has: deliveries, shelves, carts, benches, engines.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime
from typing import Any

from django.db import connection

from api.measure.by_hand import Refused

#: Size, coins and how many of them are gone.
Layer = list[int]
_STOCK = {"shelf", "cart"}
_BATCH = 10_000


class Pools:
    """Layers of every part (of every item that is told apart), and what went to benches."""

    def __init__(self, first_in: bool) -> None:
        self.first_in = first_in
        self.layers: dict[tuple[Any, ...], list[Layer]] = defaultdict(list)
        self.charged: dict[int, dict[int, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))

    def put(self, key: tuple[Any, ...], amount: int, coins: int) -> None:
        """A delivery."""
        layers = self.layers[key]
        if layers and not self.first_in:
            size, total, gone = layers.pop()
            amount, coins = amount + size - gone, coins + total - total * gone // size
        layers.append([amount, coins, 0])

    def take(self, key: tuple[Any, ...], amount: int) -> int:
        """The coins of what goes to a bench."""
        coins, layers = 0, self.layers[key]
        while amount:
            size, total, gone = layers[0]
            part = min(size - gone, amount)
            coins += total * (gone + part) // size - total * gone // size
            layers[0][2] += part
            if layers[0][2] == size:
                layers.pop(0)
            amount -= part
        return coins

    def worth(self) -> list[tuple[int, bool, int, int]]:
        """(part, own cost, amount, coins), sorted."""
        sums: dict[tuple[int, bool], list[int]] = defaultdict(lambda: [0, 0])
        for (part, item), layers in self.layers.items():
            for size, total, gone in layers:
                row = sums[part, item is not None]
                row[0] += size - gone
                row[1] += total - total * gone // size
        return sorted((part, own, row[0], row[1]) for (part, own), row in sums.items() if row[0])


def walked(upto: datetime, first_in: bool, bench: int = 0) -> Pools:
    """Everything up to a moment; what went to that bench is kept by item."""
    pools = Pools(first_in)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT (SELECT COUNT(*) FROM inventory_invoicetotal) + (SELECT COUNT(*) FROM inventory_act WHERE corrects_id IS NOT NULL)"
        )
        if cursor.fetchone() != (0,):
            raise Refused("invoices or corrections")
        cursor.execute(
            """SELECT i.part_id, CASE WHEN i.single THEN i.id END, m.item_id, m.amount, f.kind, t.kind, t.id, r.total_coins
               FROM inventory_act a JOIN inventory_movement m ON m.act_id = a.id JOIN inventory_item i ON i.id = m.item_id
               JOIN inventory_spot s ON s.id = m.from_spot_id JOIN inventory_place f ON f.id = s.place_id
               JOIN inventory_spot u ON u.id = m.to_spot_id JOIN inventory_place t ON t.id = u.place_id
               LEFT JOIN inventory_receiptline r ON f.kind = 'supplier' AND r.receipt_id = a.id AND r.item_id = m.item_id
               WHERE a.occurred_at <= %s ORDER BY a.occurred_at, a.id, m.id""",
            [upto],
        )
        while rows := cursor.fetchmany(_BATCH):
            for part, single, item, amount, came, went, place, coins in rows:
                if came == "supplier":
                    pools.put((part, single), amount, coins)
                elif went == "bench":
                    cost = pools.take((part, single), amount)
                    if place == bench:
                        charged = pools.charged[bench][item]
                        charged[0], charged[1] = charged[0] + amount, charged[1] + cost
                elif not (went in _STOCK or (came, went) == ("bench", "engine")):
                    raise Refused(f"from {came} to {went}")
    return pools
