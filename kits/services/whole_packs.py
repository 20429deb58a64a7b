"""A pack whose seal may not be broken leaves the shelf whole: what is held of it beyond what is wanted comes back unused. Private to services."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from inventory.models import Part
from inventory.queries.stock import Standing
from inventory.services.holding import Promise


def in_whole_packs(
    promises: Sequence[Promise], standings: Sequence[Standing], parts: Mapping[int, Part]
) -> list[Promise]:
    """The promises, in their order, the last of each bin made up to whole packs of its part as far as the bin has it: an odd rest in a
    bin goes whole."""
    free = {(row.item_id, row.spot_id): row for row in standings}
    total: dict[tuple[int, int], int] = defaultdict(int)
    last: dict[tuple[int, int], int] = {}
    for at, one in enumerate(promises):
        total[one.item_id, one.spot_id] += one.amount
        last[one.item_id, one.spot_id] = at
    made = list(promises)
    for place, at in last.items():
        row = free[place]
        part = parts.get(row.part_id)
        if part is None or part.loose_issue or part.pack == 1 or row.tube_number:
            continue
        rest = min(-total[place] % part.pack, row.free - total[place])
        made[at] = replace(made[at], amount=made[at].amount + rest)
    return made
