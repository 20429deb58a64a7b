"""Stopping a lot inside another act: by hand, by a failed inspection, by a certificate of another lot. Private to services."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import Q

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Lot, Site, Stop
from inventory.queries.joins import same_lots
from inventory.queries.stopped import containing, where_lot
from inventory.services import lookup
from inventory.services.holding import all_holds, make_impossible
from inventory.services.run import Body


def stop_now(act: Act, lot: Lot, reason: str) -> Body:
    """Block a lot wherever it is, closed kits that contain it included; the lot comes with its part.

    Every open hold on it ends, latest fit date first, with a named short. What stands under another record of the same number with that
    lot code is stopped with it. The answer as of `stops.stop_lot`. DomainError "stopped-already".
    """
    locks.name("stop lot", str(lot.pk))
    refuse_twice(Q(lot=lot), f"Lot {lot.code} of {lot.part.number}")
    also = [one for one in same_lots(lot) if not Stop.objects.filter(lot=one, freed__isnull=True).exists()]
    boxes = {one.pk: containing(one.pk) for one in (lot, *also)}
    inside = {box for its in boxes.values() for box in its}
    kit_parts = Lot.objects.filter(pk__in=inside).values_list("part_id", flat=True)
    lock_everywhere({lot.part_id, *(one.part_id for one in also), *kit_parts})
    stop, *others = (Stop.objects.create(act=act, lot=one, reason=reason) for one in (lot, *also))
    held = Q(item__lot_id__in=[*boxes, *inside])
    shorts = end_holds(act, held, f"lot {lot.code} of {lot.part.number} was stopped: {reason}")
    return {
        "stop": stop.pk,
        "part": lot.part.number,
        "lot": lot.code,
        "reason": reason,
        "shorts": shorts,
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
        day = earlier.act.occurred_at.date()
        raise DomainError(
            "stopped-already",
            f"{name} is stopped since {day}: {earlier.reason}",
            stop=earlier.pk,
            since=day.isoformat(),
            reason=earlier.reason,
        )


def end_holds(act: Act, of: Q, why: str) -> list[Body]:
    """End every open hold of a condition, and say the shorts by name."""
    return lookup.said(make_impossible(act, all_holds(of), why))
