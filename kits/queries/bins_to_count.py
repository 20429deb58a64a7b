"""Bins in which the books have what nobody found: listed until somebody counts that thing there."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime
from typing import Any

from inventory.models import Act, Balance
from kits.models import BinToCount

_ABOUT = (
    "item__part", "item__lot", "item__serial", "item__tube", "spot__place__site", "pick_list__job", "act__actor",
)  # fmt: skip


def bins_to_count() -> list[dict[str, Any]]:
    """One entry a bin and thing, in walking order, with what the books say lies there now, why, and since when. Three queries.

    A count of the thing at that spot clears it, whatever was found, if it was made since; one that was taken back clears nothing.
    [{site, place, spot, item, part, lot, serial, tube, on_books, base, since, asked: [{job, pick_list, by, at, why}]}]
    """
    rows = list(
        BinToCount.objects.filter(act__corrected_by__isnull=True)
        .select_related(*_ABOUT)
        .defer("pick_list__document")
        .order_by("spot__place__walk_order", "spot__place__code", "spot__name", "item_id", "pk")
    )
    counted = _counted(rows)
    open_at: dict[tuple[int, int], list[BinToCount]] = defaultdict(list)
    for row in rows:
        last = counted.get((row.item_id, row.spot.place_id, row.spot.name))
        if last is None or last < row.act.occurred_at:
            open_at[row.item_id, row.spot_id].append(row)
    books = {
        (item, spot): amount
        for item, spot, amount in Balance.objects.filter(
            item__in={item for item, _ in open_at}, spot__in={spot for _, spot in open_at}
        ).values_list("item_id", "spot_id", "amount")
    }
    return [_record(its, books.get(pair, 0)) for pair, its in open_at.items()]


def _counted(rows: list[BinToCount]) -> dict[tuple[int, int, str], datetime]:
    """When a thing was last counted at a spot (item id, place id, spot), since the first of the rows."""
    if not rows:
        return {}
    counts = Act.objects.filter(
        kind="count",
        place__in={row.spot.place_id for row in rows},
        occurred_at__gte=min(row.act.occurred_at for row in rows),
        corrected_by__isnull=True,
    )
    found: dict[tuple[int, int, str], datetime] = {}
    for act in counts.select_related("outcome").order_by("occurred_at", "pk"):
        for line in act.outcome.body["lines"]:
            found[line["item"], act.place_id or 0, line["spot"]] = act.occurred_at
    return found


def _record(rows: list[BinToCount], on_books: int) -> dict[str, Any]:
    first = rows[0]
    item, place = first.item, first.spot.place
    return {
        "site": place.site.code if place.site else "",
        "place": place.code,
        "spot": first.spot.name,
        "item": item.pk,
        "part": item.part.number,
        "lot": item.lot.code if item.lot else "",
        "serial": item.serial.number if item.serial else "",
        "tube": item.tube.number if item.tube else "",
        "on_books": on_books,
        "base": item.base,
        "since": min(row.act.occurred_at for row in rows),
        "asked": [
            {
                "job": row.pick_list.job.number,
                "pick_list": row.pick_list_id,
                "by": row.act.actor.username,
                "at": row.act.occurred_at,
                "why": row.why,
            }
            for row in rows
        ],
    }
