"""What is held for work that is not done after all is freed, in whole or in part. Private to services: the job is locked."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from inventory import locks
from inventory.models import Act, HoldEnd
from inventory.queries.days import shop_day
from inventory.services import holding, things
from inventory.services.holding import Promise
from kits.models import Job, JobHold
from kits.queries.job_list import job_list
from kits.queries.served import JobPromise, promises_of


def give_up_unasked(act: Act, job: Job, why: str) -> list[int]:
    """Release the open holds whose positions the job's list does not ask for any more; their ids. One more that was asked for outside
    the list serves no position and stays held."""
    idle = _unasked(act, job)
    if not idle:
        return []
    locks.scarcer((one.hold.item.part_id, job.site_id) for one in idle)
    idle = _unasked(act, job)
    holding.end(act, [one.hold for one in idle], HoldEnd.How.RELEASED, why)
    return [one.hold.pk for one in idle]


def _unasked(act: Act, job: Job) -> list[JobPromise]:
    held = [one for one in promises_of(job) if one.open]
    if not held:
        return []
    asked = job_list(job, shop_day(act.occurred_at), stock=False).explosion.requirements.keys()
    found = []
    for one in held:
        served = [(position, make) for position, make, amount in one.shares if amount]
        if served and not any(key in asked for key in served):
            found.append(one)
    return found


def hold_again(
    act: Act, job: Job, first: JobHold, amount: int, positions: Sequence[Sequence[Any]], until: date | None
) -> int:
    """A hold for the job of the same thing at the same spot, on the same pick list as the first one, which was ended; its id."""
    of = first.hold
    promise = Promise(of.item_id, of.from_spot_id, amount, job.fit_on, until)
    (hold,) = holding.hold_ids(act, things.spot(job.cart), [promise])
    JobHold.objects.create(
        hold_id=hold, job=job, pick_list_id=first.pick_list_id, wanted_id=first.wanted_id, positions=list(positions),
        on_approval=first.on_approval, tray=first.tray, line=first.line,
    )  # fmt: skip
    return int(hold)
