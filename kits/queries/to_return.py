"""What lies with a job, or is held for it, and serves nothing on its list: to be returned, or released."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q

from inventory.domain.errors import DomainError
from inventory.domain.quantities import shown_amount
from inventory.models import Balance, Part
from kits.domain.serving import Promised, Served
from kits.models import Job, JobHold, PickList
from kits.queries.job_list import JobList, job_list
from kits.queries.served import promised_of, served


@dataclass(frozen=True, slots=True)
class Unasked:
    """An open hold that the job's list asks for no longer, or so much of it.

    amount     base units of the item that serve nothing; `held`: all that the hold is for
    positions  use positions that it was held for and that it serves no longer; a second make as "NAME (make 2)"
    kept       (position, make, amount) that the rest serves; none: all of it serves nothing
    """

    hold: int
    part: str
    amount: int
    held: int
    positions: tuple[str, ...]
    kept: tuple[tuple[str, int, int], ...]


def to_return(job: Job, on: date) -> dict[str, Any]:
    """What was issued for a finding that was withdrawn, for a candidate that was not chosen, or is the rest of a tube.

    on  the day of the act or of the question: the list judges stock on it where the day of fitting has passed
    {"job", "lying": [{item, part, name, lot, serial, tube, place, amount, base, shown}] to be returned from cart or bench,
    "held": as `unasked_rows`, to be released}. Amounts in base units of the item. Old parts of the engine are not in it.
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
    return {"job": job.number, "lying": lying, "held": _rows(_unasked(promised, found))}


def to_return_if_listed(job: Job, on: date) -> dict[str, Any] | None:
    """The same; None while no list of the job can be worked out: what is on record contradicts itself, or lacks a value."""
    try:
        return to_return(job, on)
    except DomainError:
        return None


def unasked_on(row: PickList, on: date) -> list[dict[str, Any]]:
    """What is held on a pick list and is no longer asked for, as `unasked_rows`; nothing while no list of the job can be worked out, and
    once nothing is held on it. One query then."""
    job = row.job
    open_holds = JobHold.objects.filter(pick_list=row, hold__end__isnull=True)
    if job.state != Job.State.BOOKED or not open_holds.exists():
        return []
    found = to_return_if_listed(job, on)
    return [one for one in found["held"] if one["pick_list"] == row.pk] if found else []


def unasked(listed: JobList) -> list[Unasked]:
    """The job's open holds, or what of each, that its list asks for no longer, by hold. One more that was asked for beside the list is
    not among them. Nine queries at most; one where nothing was held yet."""
    promised = promised_of(listed.job)
    return _unasked(promised, served(listed, promised)) if any(one.open for one in promised) else []


def unasked_rows(listed: JobList) -> list[dict[str, Any]]:
    """The same as JSON: [{hold, pick_list, part, name, lot, serial, tube, place, spot, amount, held, base, shown, positions}]."""
    return _rows(unasked(listed))


def _unasked(promised: Sequence[Promised], found: Served) -> list[Unasked]:
    holds = {one.name: one for one in promised if one.name in found.idle and any(share[2] for share in one.shares)}
    # Of a pack that may not be broken the rest is held with what is wanted, and comes back once it was picked.
    parts = {one.part for one in holds.values()}
    packs = Part.objects.filter(number__in=parts, loose_issue=False, pack__gt=1)
    whole = set(packs.values_list("number", flat=True)) if parts else set()
    lines = []
    for name, one in sorted(holds.items()):
        beside = 0 if one.poured else one.amount - sum(share[2] for share in one.shares)
        amount, kept = found.idle[name], found.shares[name]
        if kept:
            amount -= max(0, beside)
        if amount > 0 and (one.part not in whole or amount == one.amount):
            still = {share[:2]: share[2] for share in kept}
            gone = [share[:2] for share in one.shares if share[2] > still.get(share[:2], 0)]
            named = tuple(position if make == 1 else f"{position} (make {make})" for position, make in gone)
            lines.append(Unasked(name, one.part, amount, one.amount, named, kept))
    return lines


def _rows(lines: Sequence[Unasked]) -> list[dict[str, Any]]:
    if not lines:
        return []
    about = ("hold__item__part", "hold__item__lot", "hold__item__serial", "hold__item__tube", "hold__from_spot__place")
    holds = JobHold.objects.select_related(*about).in_bulk([one.hold for one in lines])
    rows = []
    for one in lines:
        row = holds[one.hold]
        item, spot = row.hold.item, row.hold.from_spot
        rows.append(
            {
                "hold": one.hold,
                "pick_list": row.pick_list_id,
                "part": one.part,
                "name": item.part.name,
                "lot": item.lot.code if item.lot else "",
                "serial": item.serial.number if item.serial else "",
                "tube": item.tube.number if item.tube else "",
                "place": spot.place.code,
                "spot": spot.name,
                "amount": one.amount,
                "held": one.held,
                "base": item.base,
                "shown": shown_amount(one.amount, item.base),
                "positions": list(one.positions),
            }
        )
    return rows


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
