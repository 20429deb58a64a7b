"""What lies with a job, or is held for it, and serves nothing on its list: to be returned, or released."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import Q

from inventory.models import Balance, Part
from kits.models import Job
from kits.queries.job_list import job_list, shown_amount
from kits.queries.served import promised_of, served


def to_return(job: Job, on: date) -> dict[str, Any]:
    """What was issued for a finding that was withdrawn, for a candidate that was not chosen, or is the rest of a tube.

    on  the day of the act or of the question: the list judges stock on it where the day of fitting has passed
    {"job", "lying": [{item, part, name, lot, serial, tube, place, amount, base, shown}] to be returned from cart or bench,
    "held": [{hold, part, amount}] to be released}. Amounts in base units of the item. Old parts of the engine are not in it.
    """
    listed = job_list(job, on)
    promised = promised_of(job)
    found = served(listed, promised)
    left = dict(found.spare)
    rows = (
        Balance.objects.filter(Q(place=job.cart_id) | Q(place=job.bench_id), amount__gt=0, item__in=left)
        .select_related("item__part", "item__lot", "item__serial", "item__tube", "place")
        .order_by("item__part__number", "item_id", "place__kind")
    )
    lying = []
    for row in rows:
        amount = min(row.amount, left[row.item_id])
        left[row.item_id] -= amount
        if amount:
            lying.append(_lying(row, amount))
    holds = {one.name: one for one in promised}
    # Of a pack that may not be broken the rest is held with what is wanted, and comes back once it was picked.
    parts = {holds[hold].part for hold in found.idle}
    whole = (
        set(Part.objects.filter(number__in=parts, loose_issue=False, pack__gt=1).values_list("number", flat=True))
        if parts
        else set()
    )
    held = [
        {"hold": hold, "part": holds[hold].part, "amount": amount}
        for hold, amount in sorted(found.idle.items())
        if holds[hold].part not in whole or amount == holds[hold].amount
    ]
    return {"job": job.number, "lying": lying, "held": held}


def _lying(row: Balance, amount: int) -> dict[str, Any]:
    item = row.item
    return {
        "item": item.pk,
        "part": item.part.number,
        "name": item.part.name,
        "lot": item.lot_code,
        "serial": item.serial_number,
        "tube": item.tube.number if item.tube else "",
        "place": row.place.code,
        "amount": amount,
        "base": item.base,
        "shown": shown_amount(amount, item.base),
    }
