"""What is held for a job and its list asks for no longer is given up in one act."""

from __future__ import annotations

from django.db.models import QuerySet

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, HoldEnd, LentHold, Person
from inventory.queries.days import shop_day
from inventory.services import holding, lookup
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Job, JobHold
from kits.queries.job_list import job_list
from kits.queries.served import promised_of
from kits.queries.to_return import Unasked, unasked
from kits.services.given_up import hold_again
from kits.services.shared import open_job, touch


def release_unasked(*, actor: Person, stamp: Stamp, job: str, reason: str) -> Done:
    """Give up every open hold that the job's list asks for no longer: after a finding was withdrawn, another choice made, something
    said to be not needed. Of a hold that serves in part the rest is held on, under another number. One more that was asked for beside
    the list stays held, and so does what another job lent: it is given back.

    Raises "reason-missing", "nothing-to-release", "job-ended". Outcome: {"job", "released": [{hold, part, freed, base units of the item,
    positions, again: the hold of the rest, or None}], "lent": [{loan, hold, part, amount}] to be given back}.
    """

    def work(act: Act) -> Body:
        lookup.need_reason(reason, "Why are they released?")
        row = open_job(job)
        mine = [one.name for one in promised_of(row) if one.open]
        parts = JobHold.objects.filter(hold__in=mine).values_list("hold__item__part", flat=True)
        locks.scarcer((part, row.site_id) for part in parts)
        lines = unasked(job_list(row, shop_day(act.occurred_at)))
        loans = dict(_lent([one.hold for one in lines]).values_list("hold", "loan"))
        lent: list[Body] = [
            {"loan": loans[one.hold], "hold": one.hold, "part": one.part, "amount": one.amount}
            for one in lines
            if one.hold in loans
        ]
        own = [one for one in lines if one.hold not in loans]
        if not own:
            said = "but what was lent to it" if lent else ""
            raise DomainError(
                "nothing-to-release",
                " ".join(filter(None, ("Everything that job", job, "holds", said, "is on its list."))),
                ways_out=tuple(f"Give loan {one['loan']} back (loans/{one['loan']}/returns)." for one in lent),
                job=job,
                lent=lent,
            )
        released = _release(act, row, own, reason)
        touch(row)
        return {"job": job, "released": released, "lent": lent}

    request = {"job": job, "reason": reason}
    return run("release unasked", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _lent(holds: list[int]) -> QuerySet[LentHold]:
    """What of these holds is another job's still: a loan that is over left it to this one."""
    return LentHold.objects.filter(hold__in=holds, loan__end__isnull=True)


def _release(act: Act, job: Job, lines: list[Unasked], reason: str) -> list[Body]:
    holds = holding.open_holds(one.hold for one in lines)
    rows = JobHold.objects.select_related("hold").in_bulk(list(holds))
    holding.end(act, holds.values(), HoldEnd.How.RELEASED, f"no longer asked for: {reason}")
    released: list[Body] = []
    for one in lines:
        rest = one.held - one.amount
        again = hold_again(act, job, rows[one.hold], rest, one.kept, holds[one.hold].until) if rest else None
        body: Body = {"hold": one.hold, "part": one.part, "freed": one.amount, "positions": list(one.positions)}
        released.append(body | {"again": again})
    return released
