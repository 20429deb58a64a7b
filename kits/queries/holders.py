"""Who has what is short: the other jobs for which the good stock of a site is held, and the lots of which it is the kept piece."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from inventory.domain.allocation import natural
from inventory.domain.shelf_life import usable_on
from inventory.models import Hold
from inventory.queries.kept import open_kept
from inventory.queries.stock import Standing
from kits.models import Job


def holders_of(standings: Iterable[Standing], job: Job, day: date, margin_days: int) -> dict[str, list[str]]:
    """Part number → numbers of the other jobs that hold of it what this one could use on its day. One query, none if nothing is held.

    What is stopped or will be too old is nobody's loss and names nobody; an opened tube is good to its last day.
    """
    good = {
        (row.item_id, row.spot_id): row.part
        for row in standings
        if row.held and not row.stopped and usable_on(row.use_by, day, 0 if row.tube_number else margin_days)
    }
    if not good:
        return {}
    rows = (
        Hold.objects.filter(item__in={item for item, _ in good}, end__isnull=True)
        .exclude(to_spot__place=job.cart_id)
        .values_list("item_id", "from_spot_id", "job_hold__job__number")
    )
    found: dict[str, set[str]] = defaultdict(set)
    for item, spot, number in rows:
        if number and (item, spot) in good:
            found[good[item, spot]].add(number)
    return {part: sorted(numbers, key=natural) for part, numbers in found.items()}


def kept_of(standings: Iterable[Standing]) -> dict[str, str]:
    """Part number → what of it lies there and is free for nobody, because it is kept for its lot, in words. One query, none if nothing is
    held."""
    held = {(row.item_id, row.spot_id): row for row in standings if row.held}
    if not held:
        return {}
    rows = open_kept().filter(item__in={item for item, _ in held}, spot__in={spot for _, spot in held})
    found: dict[str, list[str]] = defaultdict(list)
    for item, spot, amount in rows.order_by("lot__code").values_list("item", "spot", "amount"):
        if (item, spot) in held:
            at = held[item, spot]
            found[at.part].append(f"{amount} at {at.place_code} is the kept one of lot {at.lot_code}")
    return {part: "; ".join(words) for part, words in found.items()}
