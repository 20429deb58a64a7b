"""Stopping a lot or an item, and freeing it: rows beside the stock. Nothing is moved; everything is blocked where it is."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import Q

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Free, Lot, Person, Site, Stop
from inventory.queries.joins import same_lots
from inventory.queries.stopped import containing, places_of, where_lot
from inventory.services import lookup
from inventory.services.holding import all_holds, make_impossible
from inventory.services.run import Body, Done, Stamp, run


def stop_lot(*, actor: Person, stamp: Stamp, lot_id: int, reason: str) -> Done:
    """From here on nothing of the lot may be used, wherever it is, closed kits that contain it included.

    Every open hold on it ends "made impossible", latest fit date first, with a named short. What stands under another record of the
    same number with that lot code is stopped with it. Outcome: {"stop": id, "part", "lot", "reason", "shorts", "where": see
    `where_lot`, "also": [{stop, part, lot_id, where}]}. Raises DomainError "not-found", "reason-missing", "stopped-already".
    """

    def work(act: Act) -> Body:
        lot = _lot(lot_id)
        lookup.need_reason(reason, f"Why is lot {lot.code} of {lot.part.number} stopped?")
        locks.name("stop lot", str(lot_id))
        _refuse_twice(Q(lot=lot), f"Lot {lot.code} of {lot.part.number}")
        also = [one for one in same_lots(lot) if not Stop.objects.filter(lot=one, freed__isnull=True).exists()]
        boxes = {one.pk: containing(one.pk) for one in (lot, *also)}
        inside = {box for its in boxes.values() for box in its}
        kit_parts = Lot.objects.filter(pk__in=inside).values_list("part_id", flat=True)
        _lock({lot.part_id, *(one.part_id for one in also), *kit_parts})
        stop, *others = (Stop.objects.create(act=act, lot=one, reason=reason) for one in (lot, *also))
        held = Q(item__lot_id__in=[*boxes, *inside])
        shorts = _end_holds(act, held, f"lot {lot.code} of {lot.part.number} was stopped: {reason}")
        return {
            "stop": stop.pk,
            "part": lot.part.number,
            "lot": lot.code,
            "reason": reason,
            "shorts": shorts,
            "where": where_lot(lot_id, boxes[lot_id]),
            "also": [
                {"stop": row.pk, "part": one.part.number, "lot_id": one.pk, "where": where_lot(one.pk, boxes[one.pk])}
                for row, one in zip(others, also, strict=True)
            ],
        }

    return run("stop lot", work, actor=actor, stamp=stamp, request={"lot": lot_id, "reason": reason}, reason=reason)


def stop_item(*, actor: Person, stamp: Stamp, item_id: int, reason: str) -> Done:
    """From here on this one item may not be used. Outcome and errors as `stop_lot`; "where" lists its places only."""

    def work(act: Act) -> Body:
        item = lookup.item(item_id)
        lookup.need_reason(reason, f"Why is {lookup.label(item)} stopped?")
        locks.name("stop item", str(item_id))
        _refuse_twice(Q(item=item), lookup.label(item))
        _lock({item.part_id})
        stop = Stop.objects.create(act=act, item=item, reason=reason)
        shorts = _end_holds(act, Q(item=item), f"{lookup.label(item)} was stopped: {reason}")
        return {
            "stop": stop.pk,
            "part": item.part.number,
            "item": item.pk,
            "identity": item.identity,
            "reason": reason,
            "shorts": shorts,
            "where": places_of(Q(item=item)),
        }

    return run("stop item", work, actor=actor, stamp=stamp, request={"item": item_id, "reason": reason}, reason=reason)


def free_lot(*, actor: Person, stamp: Stamp, lot_id: int, stop_id: int, reason: str) -> Done:
    """Lift a stop of a lot. Nothing is planned again: what was held before is held anew by whoever still wants it.

    Outcome: {"stop", "part", "lot", "reason", "note"}.
    Raises DomainError "not-found" (also for a stop of another lot), "reason-missing", "freed-already".
    """

    def work(act: Act) -> Body:
        lot = _lot(lot_id)
        locks.name("stop lot", str(lot_id))
        _free(act, Q(lot=lot), stop_id, reason, f"lot {lot.code} of {lot.part.number}")
        return _freed({"stop": stop_id, "part": lot.part.number, "lot": lot.code, "reason": reason})

    request = {"lot": lot_id, "stop": stop_id, "reason": reason}
    return run("free lot", work, actor=actor, stamp=stamp, request=request, reason=reason)


def free_item(*, actor: Person, stamp: Stamp, item_id: int, stop_id: int, reason: str) -> Done:
    """Lift a stop of an item; as `free_lot`."""

    def work(act: Act) -> Body:
        item = lookup.item(item_id)
        locks.name("stop item", str(item_id))
        _free(act, Q(item=item), stop_id, reason, lookup.label(item))
        return _freed({"stop": stop_id, "part": item.part.number, "item": item.pk, "reason": reason})

    request = {"item": item_id, "stop": stop_id, "reason": reason}
    return run("free item", work, actor=actor, stamp=stamp, request=request, reason=reason)


def _lot(lot_id: int) -> Lot:
    found = Lot.objects.select_related("part").filter(pk=lot_id).first()
    if found is None:
        raise DomainError("not-found", f"There is no lot {lot_id}.", lot=lot_id)
    return found


def _lock(parts: Collection[int]) -> None:
    """Every site, so that nobody can hold the thing anywhere while it is being stopped."""
    sites = list(Site.objects.values_list("pk", flat=True))
    locks.scarcer((part, site) for part in parts for site in sites)


def _refuse_twice(of: Q, name: str) -> None:
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


def _end_holds(act: Act, of: Q, why: str) -> list[Body]:
    return lookup.said(make_impossible(act, all_holds(of), why))


def _free(act: Act, of: Q, stop_id: int, reason: str, name: str) -> None:
    lookup.need_reason(reason, f"Why is {name} freed?")
    stop = Stop.objects.filter(of, pk=stop_id).first()
    if stop is None:
        raise DomainError("not-found", f"There is no stop {stop_id} of {name}.", stop=stop_id)
    earlier = Free.objects.filter(stop=stop).select_related("act").first()
    if earlier is not None:
        raise DomainError(
            "freed-already",
            f"Stop {stop_id} of {name} was lifted on {earlier.act.occurred_at.date()}.",
            stop=stop_id,
            on=earlier.act.occurred_at.date().isoformat(),
        )
    Free.objects.create(stop=stop, act=act, reason=reason)


def _freed(body: Body) -> Body:
    return body | {"note": "Nothing was held again: jobs that still want it hold it anew."}
