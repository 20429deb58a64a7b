"""Bins in which the books have what nobody found: listed until somebody counts that thing there."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any

from inventory.models import Balance
from inventory.queries.bins_due import bins_due
from inventory.queries.counting import last_counted
from kits.models import BinToCount

_ABOUT = (
    "item__part", "item__lot", "item__serial", "item__tube", "spot__place__site", "pick_list__job", "act__actor",
)  # fmt: skip


def bins_to_count() -> list[dict[str, Any]]:
    """One entry a bin and thing, in walking order, with what the books say lies there now, why, and since when. Three queries.

    A count of the thing at that spot (or a weighing of the tube) clears it, whatever was found, if it was made since; one that was taken back clears nothing.
    [{site, place, spot, item, part, lot, serial, tube, on_books, base, since, asked: [{job, pick_list, by, at, why}]}]
    """
    open_at = _open()
    books = {
        (item, spot): amount
        for item, spot, amount in Balance.objects.filter(
            item__in={item for item, _ in open_at}, spot__in={spot for _, spot in open_at}
        ).values_list("item_id", "spot_id", "amount")
    }
    return [_record(its, books.get(pair, 0)) for pair, its in open_at.items()]


def _open() -> dict[tuple[int, int], list[BinToCount]]:
    """(item, spot) → why it is to be counted, of those that nobody counted since. Two queries."""
    rows = list(
        BinToCount.objects.filter(act__corrected_by__isnull=True)
        .select_related(*_ABOUT)
        .defer("pick_list__document")
        .order_by("spot__place__walk_order", "spot__place__code", "spot__name", "item_id", "pk")
    )
    counted = last_counted({row.spot_id for row in rows})
    open_at: dict[tuple[int, int], list[BinToCount]] = defaultdict(list)
    for row in rows:
        last = counted.get((row.item_id, row.spot_id))
        if last is None or last < row.act.occurred_at:
            open_at[row.item_id, row.spot_id].append(row)
    return open_at


def _record(rows: list[BinToCount], on_books: int) -> dict[str, Any]:
    first = rows[0]
    item, place = first.item, first.spot.place
    return {
        "site": place.site.code if place.site else "",
        "place": place.code,
        "spot": first.spot.name,
        "item": item.pk,
        "part": item.part.number,
        "lot": item.lot_code,
        "serial": item.serial_number,
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


def bins_to_count_on(site: str, on: date, most: int | None) -> dict[str, Any]:
    """The bins of a site that are to be counted on a day: those in which something was not found first, then those due, longest not
    counted first. As `bins_due` of the stores, which takes these as asked for. Raises DomainError "not-found"."""
    return bins_due(site, on, most, {(spot, its[0].item.part_id) for (_, spot), its in _open().items()})
