"""What is held for one job is lent to another: asked for, agreed to by the donor's technician by name, lent. How it ends: `loan_ends`."""

from __future__ import annotations

from typing import Any

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.loans import Owed, in_time, split
from inventory.models import (
    Act,
    HoldEnd,
    LentHold,
    Loan,
    LoanAnswer,
    LoanRequest,
    OrderLine,
    Person,
    PurchaseOrder,
    Short,
)
from inventory.queries.days import shop_day
from inventory.queries.held import Pending
from inventory.queries.joins import kept_ids
from inventory.queries.orders import facts_of
from inventory.queries.orders import order as order_by_number
from inventory.queries.replacements import joined_parts
from inventory.queries.shop import shop
from inventory.services import holding, lookup, things
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Job, JobHold
from kits.queries.job_list import JobList, free_for, list_basis, list_on
from kits.queries.loans import Payback, donor_of, payback_of, request_by_id, shares_of, standing_paybacks
from kits.queries.scope import job_by_number
from kits.services.given_up import hold_again
from kits.services.hold_list import Lent, hold_listed
from kits.services.shared import lock_engine, open_still, touch


def ask_to_lend(
    *, actor: Person, stamp: Stamp, job: str, hold: int, amount: str | int, asked_of: Person, reason: str
) -> Done:
    """Ask, for a job, for so much of what is held for another one. Nothing moves by it.

    asked_of  the technician of the lending job, who is asked by name; another person than the one who asks
    Outcome: {"request", "hold", "from_job", "to_job", "part", "amount", "asked_of", "answer_within_minutes"}.
    Raises "reason-missing", "same-person", "not-found", "hold-ended", "job-ended", "loan-unusable", those of amounts.
    """
    request = {"job": job, "hold": hold, "amount": amount, "asked_of": asked_of.pk, "reason": reason}

    def work(act: Act) -> Body:
        lookup.need_reason(reason, "What does the job need it for?")
        if asked_of.pk == act.actor_id:
            raise DomainError("same-person", "Who asks does not consent: the technician of the other job is asked.")
        borrower = job_by_number(job)
        donor = donor_of(hold)
        _lock_jobs(borrower, donor)
        row = holding.open_holds([hold])[hold]
        number = _amount(row, amount)
        _check_lendable(row, number, donor, borrower)
        minutes = shop().loan_minutes
        made = LoanRequest.objects.create(
            act=act, hold_id=hold, to_spot=things.spot(borrower.cart), amount=number, asked_of=asked_of, minutes=minutes,
            reason=reason,
        )  # fmt: skip
        return {
            "request": made.pk, "hold": hold, "from_job": donor.number, "to_job": borrower.number, "part": row.part,
            "amount": number, "asked_of": asked_of.username, "answer_within_minutes": minutes,
        }  # fmt: skip

    return run("ask to lend", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def answer_to_lend(*, actor: Person, stamp: Stamp, request: int, agreed: bool, reason: str = "") -> Done:
    """The technician who was asked agrees, or does not, in the time there is. A refusal says why. Nobody agrees to lend what is held no more:
    the request lapsed with its hold. One that ends later, or at the same moment, is told to who lends.

    Outcome: {"request", "agreed", "reason"}. Raises "not-found", "second-person-needed" (another was asked), "loan-answered",
    "loan-late", "dates-turned", "reason-missing", "hold-ended", "job-ended".
    """

    def work(act: Act) -> Body:
        locks.row(LoanRequest._meta.db_table, [request])
        row = request_by_id(request)
        if row.asked_of_id != act.actor_id:
            raise DomainError(
                "second-person-needed",
                f"{row.asked_of.username} was asked, and answers by name.",
                asked_of=row.asked_of.username,
            )
        if LoanAnswer.objects.filter(request=row).exists():
            raise DomainError("loan-answered", f"Request {request} was answered already.", request=request)
        if act.occurred_at < row.act.occurred_at:
            raise DomainError("dates-turned", "The answer lies before the question.", request=request)
        if not in_time(row.act.occurred_at, act.occurred_at, row.minutes):
            raise DomainError(
                "loan-late",
                f"Request {request} was to be answered within {row.minutes} minutes: it stays with its job.",
                ways_out=("Ask again.",),
                request=request,
            )
        if agreed:
            _still_there(row)
        else:
            lookup.need_reason(reason, "Why is it not lent?")
        LoanAnswer.objects.create(request=row, act=act, agreed=agreed, reason=reason)
        return {"request": request, "agreed": agreed, "reason": reason}

    asked = {"request": request, "agreed": agreed, "reason": reason}
    return run("answer to lend", work, actor=actor, stamp=stamp, request=asked, reason=reason)


def lend(*, actor: Person, stamp: Stamp, request: int, order: str = "", line: int | None = None) -> Done:
    """Lend what was agreed to: the donor's hold ends, what stays is held for it anew, what goes is held for the borrower, at the same
    spot, in one act; what is held over both jobs is unchanged.

    order, line  the incoming order's line that pays it back. Promised for after the donor's day, or for no day, or with none named, the
                 donor is short by that much, by name, in this act.
    Outcome: {"loan", "from_job", "to_job", "part", "amount", "held", "rest", "pick_list", "number", "payback", "shorts"}.
    Raises "loan-not-agreed", "done-already", "hold-ended", "loan-unusable", "job-ended", "not-found", "wrong-part",
    "more-than-outstanding", and what a hold of the borrower's list is refused for.
    """

    def work(act: Act) -> Body:
        locks.row(LoanRequest._meta.db_table, [request])
        row = request_by_id(request)
        donor, borrower = donor_of(row.hold_id), Job.objects.get(cart=row.to_spot.place_id)
        borrower = job_by_number(borrower.number)
        _lock_jobs(borrower, donor)
        lock_engine(borrower)
        _check_agreed(row)
        owed = _payback_line(order, line)
        basis = list_basis(borrower)
        wanted = {part.pk for part in basis.parts.values()}
        joined = joined_parts(wanted)
        site = borrower.site_id
        locks.scarcer((part, site) for part in wanted | joined | {row.hold.item.part_id})
        held = holding.open_holds([row.hold_id])[row.hold_id]
        _check_lendable(held, row.amount, donor, borrower)
        payback = _payback(act, owed, row) if owed is not None else None
        listed = list_on(basis, shop_day(act.occurred_at))
        rest, _ = _split(act, row, held, donor, borrower)
        lent = Lent(held.thing.part_id, held.item_id, held.from_spot_id, row.amount)
        free = free_for(listed.fit_day, listed.shop, listed.parts, listed.standings)
        made = _hold_lent(act, borrower, listed, lent, joined)
        _check_all_of_it(row, made, free.get(held.part, 0))
        shorts = _short(act, row, payback, borrower)
        loan = Loan.objects.create(
            request=row, act=act, rest_id=rest, order_line=owed, short=shorts[0] if shorts else None
        )
        LentHold.objects.bulk_create(LentHold(hold_id=one["hold"], loan=loan) for one in made["held"])
        touch(donor)
        return {
            "loan": row.pk, "from_job": donor.number, "to_job": borrower.number, "part": held.part, "amount": row.amount,
            "held": made["held"], "rest": rest, "pick_list": made["pick_list"], "number": made["number"],
            "payback": payback.said() if payback else None, "shorts": lookup.said(shorts),
        }  # fmt: skip

    asked = {"request": request, "order": order, "line": line}
    return run("lend", work, actor=actor, stamp=stamp, request=asked)


def _lock_jobs(borrower: Job, donor: Job) -> None:
    """Both, in the order of all: two jobs that lend to each other wait. DomainError "job-ended"."""
    locks.row(Job._meta.db_table, [borrower.pk, donor.pk])
    for job in (borrower, donor):
        open_still(job)


def _still_there(row: LoanRequest) -> None:
    """What is asked for is held still, and the job that asked goes on. DomainError "hold-ended", "job-ended"."""
    if HoldEnd.objects.filter(hold=row.hold_id).exists():
        ended = holding.hold_ended(row.hold_id)
        raise DomainError(
            ended.code,
            f"{ended.message} Request {row.pk} lapsed with it.",
            ways_out=("Ask for a hold that is open.",),
            request=row.pk,
            **ended.values,
        )
    borrower = Job.objects.get(cart=row.to_spot.place_id)
    if borrower.state != Job.State.BOOKED:
        raise DomainError(
            "job-ended", f"Job {borrower.number} is {borrower.state}.", job=borrower.number, state=borrower.state
        )


def _amount(row: Pending, given: str | int) -> int:
    return lookup.amount(lookup.item(row.item_id), given)[0]


def _check_lendable(row: Pending, amount: int, donor: Job, borrower: Job) -> None:
    why = ""
    if donor.pk == borrower.pk:
        why = f"it is held for job {borrower.number} itself"
    elif row.from_spot.place.site_id != borrower.site_id:
        why = f"it lies at {row.from_spot.place.code}, at another site than job {borrower.number}"
    elif row.tube:
        why = "an opened tube serves the joints that it was planned for"
    elif amount > row.amount:
        why = f"{row.amount} are held, {amount} were asked for"
    if why:
        raise DomainError(
            "loan-unusable", f"{row.part} {row.label}: {why}.", hold=row.pk, asked=amount, held=row.amount
        )


def _check_agreed(row: LoanRequest) -> None:
    if Loan.objects.filter(request=row).exists():
        raise DomainError("done-already", f"Request {row.pk} was lent on already.", request=row.pk)
    answer = LoanAnswer.objects.filter(request=row).first()
    if answer is None or not answer.agreed:
        said = "has not answered" if answer is None else f"said no: {answer.reason}"
        raise DomainError(
            "loan-not-agreed",
            f"{row.asked_of.username} {said}. It stays with its job.",
            ways_out=("Ask again.",),
            request=row.pk,
            asked_of=row.asked_of.username,
        )


def _payback_line(order: str, line: int | None) -> OrderLine | None:
    """The line that pays it back, its order locked; None where none is named."""
    if not order and line is None:
        return None
    if line is None:
        raise DomainError("not-found", f"Which line of order {order} pays it back?", order=order)
    found = order_by_number(order)
    locks.row(PurchaseOrder._meta.db_table, [found.pk])
    row = OrderLine.objects.filter(order=found, line=line).select_related("part", "order").first()
    if row is None:
        raise DomainError("not-found", f"Order {order} has no line {line}.", order=order, line=line)
    return row


def _payback(act: Act, owed: OrderLine, row: LoanRequest) -> Payback:
    """What pays back; DomainError "wrong-part", "more-than-outstanding" where other loans are paid by it already."""
    lent = row.hold.item.part_id
    kept = kept_ids([owed.part_id, lent])
    if kept.get(owed.part_id, owed.part_id) != kept.get(lent, lent):
        raise DomainError(
            "wrong-part",
            f"Line {owed.line} of order {owed.order.number} is for {owed.part.number}.",
            order=owed.order.number,
            line=owed.line,
        )
    facts = facts_of([owed])[owed.pk]
    left = facts.state.outstanding - standing_paybacks([owed]).get(owed.pk, 0)
    if left < row.amount:
        others = Loan.objects.filter(order_line=owed, end__isnull=True).order_by("pk").values_list("pk", flat=True)
        raise DomainError(
            "more-than-outstanding",
            f"{max(0, left)} of line {owed.line} of order {owed.order.number} are still to come and pay back nothing else.",
            ways_out=tuple(f"Close loan {loan}, if it is over (loans/{loan}/closings)." for loan in others[:5]),
            order=owed.order.number,
            line=owed.line,
            outstanding=max(0, left),
        )
    share = shares_of({owed.pk: facts}, Owed(row.pk, row.amount, act.pk, row.hold.day))[row.pk]
    return payback_of(facts, share, row.hold.day, row.amount, shop_day(act.occurred_at))


def _split(act: Act, row: LoanRequest, held: Pending, donor: Job, borrower: Job) -> tuple[int | None, list[Any]]:
    """End the donor's hold and hold anew what stays; the id of that hold (None: all goes) and the positions of what goes."""
    holding.end(act, [held], HoldEnd.How.RELEASED, f"{row.amount} of {held.amount} lent to job {borrower.number}")
    first = JobHold.objects.select_related("hold").get(hold=held.pk)
    parts = split(held.amount, row.amount, first.positions)
    if not parts.rest:
        return None, parts.given
    return hold_again(act, donor, first, parts.rest, parts.kept, held.until), parts.given


def _hold_lent(act: Act, borrower: Job, listed: JobList, lent: Lent, joined: set[int]) -> Body:
    return hold_listed(act, borrower, listed, set(), None, joined, lent)


def _check_all_of_it(row: LoanRequest, made: Body, free: int) -> None:
    """All of it serves the borrower's list, which the free stock does not serve."""
    got = sum(one["amount"] for one in made["held"])
    lacks = got + sum(one["amount"] for one in made["shorts"])
    part = row.hold.item.part.number
    why = ""
    if got < row.amount:
        why = f"its list takes {got} of {part}, {row.amount} were to be lent" + "".join(
            f"; {one['why']}" for one in made["shorts"]
        )
    elif lacks - free < row.amount:
        why = f"it lacks {lacks} of {part}, of which {free} are free on the shelf"
    if why:
        raise DomainError(
            "loan-unusable",
            f"The borrower cannot use it: {why}.",
            ways_out=("Hold what is free first.",),
            request=row.pk,
            takes=got,
        )


def _short(act: Act, row: LoanRequest, payback: Payback | None, borrower: Job) -> list[Short]:
    """The donor is short at once where nothing pays it back by its day."""
    if payback is not None and not payback.late:
        return []
    day = row.hold.day
    back = "no order pays it back"
    if payback is not None:
        promised = payback.promised_on or "no day"
        back = f"line {payback.line} of order {payback.order} is promised for {promised}"
    why = f"lent to job {borrower.number}, agreed by {row.asked_of.username}; {back}, needed on {day}"
    return [holding.raise_short(act, row.hold, row.amount, why)]
