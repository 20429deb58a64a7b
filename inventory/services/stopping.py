"""Stopping a lot inside another act: by hand, by a failed inspection, by a certificate of another lot. Private to services.

What was picked already is held by nobody: who had it picked knows what it served, and says so (`tell`) in its `services/stopped.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from django.db.models import Q

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Hold, Item, Lot, Short, Site, Stop
from inventory.queries.days import shop_day
from inventory.queries.joins import same_lots
from inventory.queries.stopped import came_out_of_kits, containing, where_lot
from inventory.services import lookup
from inventory.services.holding import all_holds, make_impossible
from inventory.services.run import Body

#: Gets the act, the ids of the items that may not be used any more, and why; writes named shorts and returns them.
Told = Callable[[Act, Collection[int], str], list[Short]]

_told: list[Told] = []

#: Gets the act, open holds that may not stand, latest fit date first, and why; holds other stock for what some of them were for. Returns
#: the holds that it left alone, what is held instead, and the named shorts of what nothing else serves.
Replan = Callable[[Act, Sequence[Hold], str], tuple[list[Hold], list[Body], list[Short]]]

_replans: list[Replan] = []


def tell(who: Told) -> None:
    """Have this called at every stop."""
    if who not in _told:
        _told.append(who)


def replan(how: Replan) -> None:
    """Have this called at every stop, before the holds end."""
    if how not in _replans:
        _replans.append(how)


def stop_now(act: Act, lot: Lot, reason: str) -> Body:
    """Block a lot wherever it is, closed kits that contain it included; the lot comes with its part.

    Every open hold on it ends; what other stock on the shelves serves is held instead, the rest is short by name. What was picked of it and is not fitted yet is short by name
    too. Of a kit, what came out of its opened boxes is blocked with it. What stands under another record of the same number with that
    lot code is stopped with it. The answer as of `stops.stop_lot`. DomainError "stopped-already".
    """
    locks.name("stop lot", str(lot.pk))
    refuse_twice(Q(lot=lot), f"Lot {lot.code} of {lot.part.number}")
    also = [one for one in same_lots(lot) if not Stop.objects.filter(lot=one, freed__isnull=True).exists()]
    boxes = {one.pk: containing(one.pk) for one in (lot, *also)}
    inside = {box for its in boxes.values() for box in its}
    kit_parts = Lot.objects.filter(pk__in=inside).values_list("part_id", flat=True)
    reached = Q(lot__in=[*boxes, *inside]) | came_out_of_kits(boxes)
    contents = Item.objects.filter(came_out_of_kits(boxes)).values_list("part_id", flat=True)
    lock_everywhere({lot.part_id, *(one.part_id for one in also), *kit_parts, *contents})
    stop, *others = (Stop.objects.create(act=act, lot=one, reason=reason) for one in (lot, *also))
    shorts, instead = end_holds(act, reached, f"lot {lot.code} of {lot.part.number} was stopped: {reason}")
    return {
        "stop": stop.pk,
        "part": lot.part.number,
        "lot": lot.code,
        "reason": reason,
        "shorts": shorts,
        "instead": instead,
        "where": where_lot(lot.pk, boxes[lot.pk]),
        "also": [
            {"stop": row.pk, "part": one.part.number, "lot_id": one.pk, "where": where_lot(one.pk, boxes[one.pk])}
            for row, one in zip(others, also, strict=True)
        ],
    }


def lock_everywhere(parts: Collection[int]) -> None:
    """Every site, so that nobody can hold the thing anywhere while it is being stopped."""
    sites = list(Site.objects.values_list("pk", flat=True))
    locks.scarcer((part, site) for part in parts for site in sites)


def refuse_twice(of: Q, name: str) -> None:
    """DomainError "stopped-already" where an open stop stands."""
    earlier = Stop.objects.filter(of, freed__isnull=True).select_related("act").order_by("pk").first()
    if earlier is not None:
        day = shop_day(earlier.act.occurred_at)
        raise DomainError(
            "stopped-already",
            f"{name} is stopped since {day}: {earlier.reason}",
            stop=earlier.pk,
            since=day.isoformat(),
            reason=earlier.reason,
        )


def end_holds(act: Act, of: Q, why: str) -> tuple[list[Body], list[Body]]:
    """End every open hold on the items of a condition and have everybody told: the shorts by name, and what is held instead."""
    items = list(Item.objects.filter(of).values_list("pk", flat=True))
    left = all_holds(Q(item__in=items))
    instead: list[Body] = []
    shorts: list[Short] = []
    for how in _replans:
        left, more, lacking = how(act, left, why)
        instead += more
        shorts += lacking
    shorts += make_impossible(act, left, why)
    shorts += [short for who in _told for short in who(act, items, why)]
    return lookup.said(shorts), instead
