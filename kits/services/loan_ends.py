"""How a loan between jobs ends: what is still held is given back, or a person closes it."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.loans import HowOver, split
from inventory.models import Act, HoldEnd, Loan, LoanEnd, LoanRequest, Person, Short
from inventory.queries.held import pending
from inventory.services import holding, lookup
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Job, JobHold
from kits.queries.loans import LentNow, donor_of, lent_now, loan_by_id, request_by_id
from kits.services.given_up import hold_again
from kits.services.shared import open_still, touch


def give_back_loan(*, actor: Person, stamp: Stamp, loan: int, reason: str) -> Done:
    """What was lent goes back to the donor before any of it was picked: the borrower's holds end, the donor holds it again. What is held no
    more (stopped, counted away, released, …) is not given back; of that the donor is short by name, where it was not said as it was lent.

    Outcome: {"loan", "hold": the donor's, "ended": the borrower's, "amount", "gone": base units that are held no more, "shorts"}.
    The short that was raised as it was lent stays on record.
    Raises "reason-missing", "not-found", "done-already", "hold-ended" (picked, or nothing is held any more), "job-ended" (the donor).
    """

    def work(act: Act) -> Body:
        lookup.need_reason(reason, "Why is it given back?")
        row, asked, donor, borrower = _running(loan)
        open_still(donor)
        now = _locked(row)
        _check_held(row, now, donor, borrower)
        open_now = holding.open_holds(now.open)
        holding.end(act, open_now.values(), HoldEnd.How.RELEASED, f"given back to job {donor.number}: {reason}")
        first = JobHold.objects.select_related("hold").get(hold=asked.hold_id)
        given = split(first.hold.amount, asked.amount, first.positions).given
        if now.fate.gone:
            given = split(asked.amount, now.fate.gone, given).kept
        hold = hold_again(act, donor, first, now.fate.held, given, first.hold.until)
        LoanEnd.objects.create(loan=row, act=act, how=HowOver.GIVEN_BACK.value, hold_id=hold)
        shorts = _short(act, row, asked, now.fate.gone, f"lent to job {borrower.number} and held no more: {reason}")
        _seen(donor, borrower)
        return {
            "loan": loan, "hold": hold, "ended": now.open, "amount": now.fate.held, "gone": now.fate.gone,
            "shorts": lookup.said(shorts),
        }  # fmt: skip

    asked = {"loan": loan, "reason": reason}
    return run("give a loan back", work, actor=actor, stamp=stamp, request=asked, reason=reason)


def close_loan(*, actor: Person, stamp: Stamp, loan: int, paid_back: bool, reason: str) -> Done:
    """A person says that a loan is over: nothing more is awaited of it, and the order's line that was to pay it back pays nothing back any
    more. What the borrower still holds is its own from now on. Jobs that have ended are no obstacle.

    paid_back  the donor has it again, out of whatever came; if not, the donor is short by name, where it was not said as it was lent
    Outcome: {"loan", "how", "held", "picked", "gone": base units of what was lent, "shorts"}.
    Raises "reason-missing", "not-found", "done-already".
    """

    def work(act: Act) -> Body:
        lookup.need_reason(reason, "Why is nothing more awaited of it?")
        row, asked, donor, borrower = _running(loan)
        now = _locked(row)
        how = HowOver.PAID_BACK if paid_back else HowOver.NOT_COMING
        LoanEnd.objects.create(loan=row, act=act, how=how.value)
        shorts: list[Short] = []
        if not paid_back and donor.state == Job.State.BOOKED:
            why = f"lent to job {borrower.number}, not coming back: {reason}"
            shorts = _short(act, row, asked, asked.amount, why)
        _seen(donor, borrower)
        fate = now.fate
        return {
            "loan": loan, "how": how.value, "held": fate.held, "picked": fate.picked, "gone": fate.gone,
            "shorts": lookup.said(shorts),
        }  # fmt: skip

    asked = {"loan": loan, "paid_back": paid_back, "reason": reason}
    return run("close loan", work, actor=actor, stamp=stamp, request=asked, reason=reason)


def _running(loan: int) -> tuple[Loan, LoanRequest, Job, Job]:
    """The loan with its request, the donor and the borrower, all locked, the jobs as they are now. DomainError "not-found", "done-already"."""
    locks.row(LoanRequest._meta.db_table, [loan])
    row, asked = loan_by_id(loan), request_by_id(loan)
    donor, borrower = donor_of(asked.hold_id), Job.objects.get(cart=asked.to_spot.place_id)
    locks.row(Job._meta.db_table, [borrower.pk, donor.pk])
    end = LoanEnd.objects.filter(loan=row).first()
    if end is not None:
        raise DomainError("done-already", f"Loan {loan} is over already: {end.how}.", loan=loan, how=end.how)
    for job in (donor, borrower):
        job.refresh_from_db(fields=["state", "version"])
    return row, asked, donor, borrower


def _locked(row: Loan) -> LentNow:
    """What is held, picked and gone of it, under the locks of the parts that are still held."""
    first = lent_now([row.pk])[row.pk]
    locks.scarcer(one.part_at_site for one in pending(first.open).values())
    return lent_now([row.pk])[row.pk]


def _check_held(row: Loan, now: LentNow, donor: Job, borrower: Job) -> None:
    """Something of it is held, and none was picked. DomainError "hold-ended" with how what was lent ended, and what to do instead."""
    if now.fate.held and not now.fate.picked:
        return
    ended = [one for one in now.holds if one["how"]]
    ways = [f"Close the loan (loans/{row.pk}/closings), and say whether job {donor.number} has it again."]
    if now.fate.picked:
        what = f"{now.fate.picked} of it were picked for job {borrower.number}: what was picked is not given back."
        ways.insert(0, f"Return it from job {borrower.number} to its bin and hold it for job {donor.number}.")
    else:
        said = [f"hold {one['hold']} was {one['how']}" + (f": {one['why']}" if one["why"] else "") for one in ended]
        what = f"Nothing of loan {row.pk} is held for job {borrower.number} any more: {'; '.join(said)}."
    raise DomainError(
        "hold-ended",
        what,
        ways_out=tuple(ways),
        loan=row.pk,
        ended=ended,
    )


def _short(act: Act, row: Loan, asked: LoanRequest, amount: int, why: str) -> list[Short]:
    """The donor is short by that much, unless it was said as it was lent."""
    if not amount or row.short_id is not None:
        return []
    return [holding.raise_short(act, asked.hold, amount, why)]


def _seen(donor: Job, borrower: Job) -> None:
    """What people see of both has changed; of one that has ended nothing does."""
    for job in (donor, borrower):
        if job.state == Job.State.BOOKED:
            touch(job)
