"""Holds with what they hold and where, each thing read once."""

from __future__ import annotations

from collections.abc import Collection

from inventory.models import Hold, Item, Spot


def with_what_and_where(holds: Collection[Hold]) -> None:
    """Give holds their items (with part, lot, serial, tube) and spots (with place). Two queries, none for no hold.

    The holds of a kit share their cart and a few shelves: joined to every hold they would be read a hundred times.
    """
    if not holds:
        return
    items = Item.objects.select_related("part", "lot", "serial", "tube").in_bulk({row.item_id for row in holds})
    spots = Spot.objects.select_related("place").in_bulk(
        {spot for row in holds for spot in (row.from_spot_id, row.to_spot_id)}
    )
    for row in holds:
        row.item, row.from_spot, row.to_spot = items[row.item_id], spots[row.from_spot_id], spots[row.to_spot_id]
