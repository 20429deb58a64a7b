"""What is stopped and stands in an engine."""

from __future__ import annotations

from typing import Any

from inventory.models import Balance
from inventory.queries.stock import stopped_items
from kits.models import Engine


def stopped_inside(engine: Engine) -> list[dict[str, Any]]:
    """Everything in the engine that is stopped, itself or its lot, whichever job fitted it: {position, item, part, called}. Two queries."""
    rows = list(
        Balance.objects.filter(place=engine.place_id, amount__gt=0)
        .select_related("item__part", "item__lot", "item__serial", "spot")
        .order_by("spot__name", "item_id")
    )
    stopped = stopped_items({row.item_id for row in rows})
    return [
        {"position": row.spot.name, "item": row.item_id, "part": row.item.part.number, "called": row.item.called}
        for row in rows
        if row.item_id in stopped
    ]
