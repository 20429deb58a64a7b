"""Stock on a past day by two ways that share nothing: all movements once more from the first on, and the balances of now rolled back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.db import connection

from inventory.domain.replay import Levels, Moved, differences, replay
from inventory.models import Item, Movement, Spot
from inventory.queries.by_hand import rows
from inventory.queries.days import last_of
from inventory.queries.snapshot import snapshot

_BATCH = 5000
#: What stands now, less all that came since, and with all that went since.
_ROLLED_BACK = """
    SELECT item_id, spot_id, SUM(amount) FROM (
        SELECT item_id, spot_id, amount FROM inventory_balance
        UNION ALL SELECT m.item_id, m.to_spot_id, -m.amount FROM inventory_movement m
            JOIN inventory_act a ON a.id = m.act_id WHERE a.occurred_at > %s
        UNION ALL SELECT m.item_id, m.from_spot_id, m.amount FROM inventory_movement m
            JOIN inventory_act a ON a.id = m.act_id WHERE a.occurred_at > %s
    ) x GROUP BY item_id, spot_id HAVING SUM(amount) <> 0
"""


@dataclass(frozen=True, slots=True)
class Standing:
    """So much of an item stood at a spot of a real place."""

    place: str
    spot: str
    part: str
    identity: str
    amount: int


@dataclass(frozen=True, slots=True)
class Replayed:
    """What the replay came to; `faults`: a sentence for each difference, empty where the two ways agree."""

    movements: int
    standing: list[Standing]
    faults: list[str]


def replay_until(on: date | datetime) -> Replayed:
    """Replay every movement up to the end of a day (or a moment) and hold it against the balances rolled back to it.

    What was taken back is in both, with what took it back. Four queries, all of one moment.
    """
    end = last_of(on)
    with snapshot():
        ends = Spot.objects.values_list("pk", "place__code", "name", "place__real")
        spots = {spot: (place, name, real) for spot, place, name, real in ends}
        moved = list(_moved(end))
        levels, below = replay(moved, frozenset(spot for spot, (_, _, real) in spots.items() if real))
        wrong = differences(levels, _rolled_back(end))
        named = _names({item for item, _ in levels} | {one.item for one in below} | {one[0] for one in wrong})
    faults = [
        f"{' '.join(spots[spot][:2])}: {' '.join(named[item])}: the replay has {replayed}, the balances {balance}"
        for item, spot, replayed, balance in wrong
    ]
    faults += [
        f"{' '.join(spots[one.spot][:2])}: {' '.join(named[one.item])}: {one.level} after {one.at.isoformat()}"
        for one in below
    ]
    standing = sorted(
        (Standing(*spots[spot][:2], *named[item], amount) for (item, spot), amount in levels.items() if spots[spot][2]),
        key=lambda one: (one.place, one.spot, one.part, one.identity),
    )
    return Replayed(len(moved), standing, faults)


def _moved(end: datetime) -> Iterator[Moved]:
    found = Movement.objects.filter(act__occurred_at__lte=end).order_by("act__occurred_at", "act_id", "pk")
    names = ("act__occurred_at", "item_id", "amount", "from_spot_id", "to_spot_id")
    for row in found.values_list(*names).iterator(chunk_size=_BATCH):
        yield Moved(*row)


def _rolled_back(end: datetime) -> Levels:
    at = connection.ops.adapt_datetimefield_value(end)
    return {(item, spot): int(amount) for item, spot, amount in rows(_ROLLED_BACK, [at, at])}


def _names(items: set[int]) -> dict[int, tuple[str, str]]:
    wanted = sorted(items)
    found: dict[int, tuple[str, str]] = {}
    for start in range(0, len(wanted), _BATCH):
        some = Item.objects.filter(pk__in=wanted[start : start + _BATCH])
        found |= {pk: (part, text) for pk, part, text in some.values_list("pk", "part__number", "identity")}
    return found
