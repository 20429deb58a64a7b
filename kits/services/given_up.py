"""What is held for work that is not done after all is freed in the act that says so. Private to services: the job is locked."""

from __future__ import annotations

from inventory import locks
from inventory.models import Act, HoldEnd
from inventory.queries.days import shop_day
from inventory.services import holding
from kits.models import Job
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
