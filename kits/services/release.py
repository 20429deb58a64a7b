"""A hold is given up by a person's word, or ended because its day is past."""

from __future__ import annotations

from collections.abc import Sequence

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, HoldEnd, LentHold, Person
from inventory.queries.days import shop_day
from inventory.services import holding
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Job
from kits.services.shared import touch


def release(*, actor: Person, stamp: Stamp, hold: int, reason: str) -> Done:
    """A hold is given up; what it held is free again. Outcome: {"hold", "part", "freed"}.

    Raises DomainError "reason-missing", "not-found", "hold-ended", "hold-lent".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "Releasing a hold needs a reason.")
        jobs = _jobs([hold])
        row = holding.open_holds([hold])[hold]
        locks.scarcer([row.part_at_site])
        row = holding.open_holds([hold])[hold]
        _refuse_lent([hold])
        holding.end(act, [row], HoldEnd.How.RELEASED, reason)
        for job in jobs:
            touch(job)
        return {"hold": hold, "part": row.part, "freed": row.amount}

    request = {"hold": hold, "reason": reason}
    return run("release", work, actor=actor, stamp=stamp, request=request, subject=_subject([hold]), reason=reason)


def lapse(*, actor: Person, stamp: Stamp, holds: Sequence[int], reason: str) -> Done:
    """Holds past their day are ended by a person as lapsed; a hold whose day is not past is refused ("not-lapsed"), and so is what
    another job lent ("hold-lent")."""

    def work(act: Act) -> Body:
        jobs = _jobs(holds)
        rows = holding.open_holds(holds)
        locks.scarcer(row.part_at_site for row in rows.values())
        rows = holding.open_holds(holds)
        early = [row.pk for row in rows.values() if row.until is None or row.until >= shop_day(act.occurred_at)]
        if early:
            raise DomainError("not-lapsed", f"Hold {early[0]} has not lapsed.", holds=early)
        _refuse_lent(holds)
        holding.end(act, rows.values(), HoldEnd.How.LAPSED, reason)
        for job in jobs:
            touch(job)
        return {"lapsed": sorted(rows)}

    request = {"holds": sorted(holds), "reason": reason}
    return run("lapse", work, actor=actor, stamp=stamp, request=request, subject=_subject(holds), reason=reason)


def _refuse_lent(holds: Sequence[int]) -> None:
    """What another job lent goes back to that job, as long as the loan is not over: released, anybody could be promised it, and the loan could
    not be given back."""
    row = LentHold.objects.filter(hold__in=holds, loan__end__isnull=True).order_by("hold_id").first()
    if row is not None:
        raise DomainError(
            "hold-lent",
            f"Hold {row.hold_id} is of what another job lent: it is given back, not released.",
            ways_out=(
                f"Give loan {row.loan_id} back (loans/{row.loan_id}/returns).",
                f"Close it first, if it is over (loans/{row.loan_id}/closings).",
            ),
            hold=row.hold_id,
            loan=row.loan_id,
        )


def _subject(holds: Sequence[int]) -> str:
    """The job that they are held for, where it is one; which job a hold is for never changes."""
    found = sorted(set(Job.objects.filter(holds__hold__in=holds).values_list("number", flat=True)))
    return found[0] if len(found) == 1 else ""


def _jobs(holds: Sequence[int]) -> list[Job]:
    """The jobs that they are held for, locked: what people see of these changes."""
    ids = sorted(set(Job.objects.filter(holds__hold__in=holds).values_list("pk", flat=True)))
    locks.row("kits_job", ids)
    return list(Job.objects.filter(pk__in=ids).order_by("pk"))
