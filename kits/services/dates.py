"""The day of fitting moves: holds are checked again against it, and what it makes impossible is held anew where it can be."""

from __future__ import annotations

from datetime import date

from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.queries.outside import latest_due
from kits.services.rechecking import check_holds, fit_on_day
from kits.services.shared import open_job, touch


def move_fit_date(*, actor: Person, stamp: Stamp, job: str, fit_on: date, reason: str) -> Done:
    """Plan the fitting for another day.

    Every open hold is checked against the new day; what has too little life left by then (or is stopped) is ended as
    impossible, held anew from other lots in the same act where the shelves allow, and a short by name where not. The joints of
    an opened tube that will be past its day get another tube. Outcome: {"fit_on", "kept", "replaced": [{part, from_lot, to_lot,
    amount, why}], "shorts": [{part, amount, why, ways}], "too_old": what was picked already and may not be fitted then [{part, item, lot, amount, use_by, stopped, place}]}.
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "Moving the day of fitting needs a reason.")
        row = open_job(job)
        if fit_on < row.strip_on:
            raise DomainError(
                "dates-turned", f"Fitting on {fit_on} lies before strip on {row.strip_on}.", fit_on=str(fit_on)
            )
        late = latest_due(row)
        if late is not None and fit_on < late:
            raise DomainError(
                "outside-work-due",
                f"A piece is at an outside machinist until {late}; fitting on {fit_on} is too early.",
                due=str(late),
            )
        outcome = fit_on_day(act, row, fit_on, reason)
        touch(row)
        return {"fit_on": fit_on, **outcome}

    return run(
        "move fit date", work, actor=actor, stamp=stamp, request={"job": job, "fit_on": fit_on, "reason": reason}, subject=job,
        reason=reason,
    )  # fmt: skip


def recheck_job(*, actor: Person, stamp: Stamp, job: str) -> Done:
    """Check the open holds of a job against its day of fitting, or against the day of the act where that has passed: what was
    stopped or runs out is replaced or named short."""

    def work(act: Act) -> Body:
        row = open_job(job)
        return check_holds(act, row)

    return run("check holds", work, actor=actor, stamp=stamp, request={"job": job}, subject=job)
