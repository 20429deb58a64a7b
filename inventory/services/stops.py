"""Stopping a lot or an item, and freeing it: rows beside the stock. Nothing is moved; everything is blocked where it is."""

from __future__ import annotations

from django.db.models import Q

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Free, Item, Lot, Person, Stop
from inventory.queries.days import shop_day
from inventory.queries.stopped import places_of
from inventory.services import lookup
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.stopping import end_holds, lock_everywhere, refuse_twice, stop_now


def stop_lot(*, actor: Person, stamp: Stamp, lot_id: int, reason: str) -> Done:
    """From here on nothing of the lot may be used, wherever it is, closed kits that contain it included.

    Every open hold on it ends "made impossible"; other stock is held instead where there is some, the rest is a named short. What stands under another record of the
    same number with that lot code is stopped with it. Outcome: {"stop": id, "part", "lot", "reason", "shorts", "instead": [{job, part, from_lot, to_lot, amount, why}], "where": see
    `where_lot`, "also": [{stop, part, lot_id, where}]}. Raises DomainError "not-found", "reason-missing", "stopped-already".
    """

    def work(act: Act) -> Body:
        lot = _lot(lot_id)
        lookup.need_reason(reason, f"Why is lot {lot.code} of {lot.part.number} stopped?")
        return stop_now(act, lot, reason)

    return run("stop lot", work, actor=actor, stamp=stamp, request={"lot": lot_id, "reason": reason}, reason=reason)


def stop_item(*, actor: Person, stamp: Stamp, item_id: int, reason: str) -> Done:
    """From here on this one item may not be used. Outcome and errors as `stop_lot`; "where" lists its places only."""

    def work(act: Act) -> Body:
        item = lookup.item(item_id)
        lookup.need_reason(reason, f"Why is {lookup.label(item)} stopped?")
        locks.name("stop item", str(item_id))
        refuse_twice(Q(item=item), lookup.label(item))
        contents = Item.objects.filter(Q(from_kit=item) | Q(from_kit__from_kit=item)).values_list("part_id", flat=True)
        lock_everywhere({item.part_id, *contents})
        stop = Stop.objects.create(act=act, item=item, reason=reason)
        shorts, instead = end_holds(
            act,
            Q(pk=item.pk) | Q(from_kit=item) | Q(from_kit__from_kit=item),
            f"{lookup.label(item)} was stopped: {reason}",
        )
        return {
            "stop": stop.pk,
            "part": item.part.number,
            "item": item.pk,
            "identity": item.identity,
            "reason": reason,
            "shorts": shorts,
            "instead": instead,
            "where": places_of(Q(item=item)),
        }

    return run("stop item", work, actor=actor, stamp=stamp, request={"item": item_id, "reason": reason}, reason=reason)


def free_lot(*, actor: Person, stamp: Stamp, lot_id: int, stop_id: int, reason: str) -> Done:
    """Lift a stop of a lot. Nothing is planned again: what was held before is held anew by whoever still wants it.

    Outcome: {"stop", "part", "lot", "reason", "note"}.
    Raises DomainError "not-found" (also for a stop of another lot), "reason-missing", "freed-already", "second-person-needed" (it came
    of an inspection by the same person).
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


def _free(act: Act, of: Q, stop_id: int, reason: str, name: str) -> None:
    lookup.need_reason(reason, f"Why is {name} freed?")
    stop = Stop.objects.filter(of, pk=stop_id).select_related("act").first()
    if stop is None:
        raise DomainError("not-found", f"There is no stop {stop_id} of {name}.", stop=stop_id)
    if stop.act.kind == "inspect lot" and stop.act.actor_id == act.actor_id:
        raise DomainError(
            "second-person-needed",
            f"Stop {stop_id} of {name} came of an inspection by the same person: another one lifts it.",
            stop=stop_id,
        )
    earlier = Free.objects.filter(stop=stop).select_related("act").first()
    if earlier is not None:
        raise DomainError(
            "freed-already",
            f"Stop {stop_id} of {name} was lifted on {shop_day(earlier.act.occurred_at)}.",
            stop=stop_id,
            on=shop_day(earlier.act.occurred_at).isoformat(),
        )
    Free.objects.create(stop=stop, act=act, reason=reason)


def _freed(body: Body) -> Body:
    return body | {"note": "Nothing was held again: jobs that still want it hold it anew."}
