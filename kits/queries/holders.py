"""Who has what is short: the other jobs for which the good stock of a site is held."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from inventory.domain.allocation import natural
from inventory.domain.shelf_life import usable_on
from inventory.models import Hold
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
