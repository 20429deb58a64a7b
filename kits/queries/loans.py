"""What is lent between jobs: what was asked for, who consented, what went, and what pays it back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Q, QuerySet

from inventory.domain.errors import DomainError
from inventory.domain.loans import Fate, HowOver, Owed, Share, Word, fate_of, payback_late, shared_out, word
from inventory.domain.orders import line_state
from inventory.models import LentHold, Loan, LoanRequest, OrderLine
from inventory.queries.days import shop_day
from inventory.queries.orders import Facts, facts_of
from kits.models import Job, JobHold
from kits.queries.scope import job_by_number


@dataclass(frozen=True, slots=True)
class Payback:
    """An order's line that pays a loan back; `promised_on` its newest promise, `late` for the donor's day, `came` this loan's share of what was
    accepted of it since it was lent, `before` the running loans that the line pays back first."""

    order: str
    line: int
    promised_on: date | None
    outstanding: int
    late: bool
    came: int = 0
    before: tuple[int, ...] = ()

    def said(self) -> dict[str, Any]:
        """As an answer carries it."""
        return {
            "order": self.order,
            "line": self.line,
            "promised_on": self.promised_on,
            "outstanding": self.outstanding,
            "late": self.late,
            "came": self.came,
            "before": list(self.before),
        }


def request_by_id(number: int) -> LoanRequest:
    """A request with what it asks for and of whom; DomainError "not-found"."""
    found = _requests().filter(pk=number).first()
    if found is None:
        raise DomainError("not-found", f"There is no request {number} to lend.", request=number)
    return found


def loan_by_id(number: int) -> Loan:
    """A loan, which has the number of its request; DomainError "not-found"."""
    found = Loan.objects.filter(pk=number).select_related("rest").first()
    if found is None:
        raise DomainError("not-found", f"Nothing was lent on request {number}.", loan=number)
    return found


def donor_of(hold: int) -> Job:
    """The job for which something is held; DomainError "not-found"."""
    found = JobHold.objects.filter(hold=hold).values_list("job__number", flat=True).first()
    if found is None:
        raise DomainError("not-found", f"No job has a hold {hold}.", hold=hold)
    return job_by_number(found)


def _requests() -> QuerySet[LoanRequest]:
    item = ("hold__item__part", "hold__item__lot", "hold__item__serial")
    return LoanRequest.objects.select_related(
        *item, "hold__to_spot__place", "hold__from_spot__place", "to_spot", "asked_of", "act__actor", "answer__act",
        "loan__act__actor", "loan__end__act__actor", "loan__order_line__order", "loan__short", "hold__end__act",
    )  # fmt: skip


def standing_paybacks(lines: Iterable[OrderLine]) -> dict[int, int]:
    """Order line id → how much of it pays back loans that are not over. One query."""
    pledged: dict[int, int] = defaultdict(int)
    rows = Loan.objects.filter(order_line__in=lines, end__isnull=True).values_list("order_line_id", "request__amount")
    for line, amount in rows:
        if line is not None:
            pledged[line] += amount
    return pledged


@dataclass(frozen=True, slots=True)
class LentNow:
    """The holds that a borrower got by a loan, as they are now: [{hold, amount, how, picked, why, act, at}], `how` empty while it is open;
    the ids of the open ones; and what became of all of it."""

    holds: list[dict[str, Any]]
    open: list[int]
    fate: Fate


def lent_now(loans: Iterable[int]) -> dict[int, LentNow]:
    """Loan id → its holds now. One query."""
    wanted = list(loans)
    rows: dict[int, list[dict[str, Any]]] = {one: [] for one in wanted}
    found = LentHold.objects.filter(loan__in=wanted).order_by("hold_id").select_related("hold__end__act")
    for row in found:
        end = getattr(row.hold, "end", None)
        rows[row.loan_id].append(
            {
                "hold": row.hold_id,
                "amount": row.hold.amount,
                "how": end.how if end else "",
                "picked": end.picked if end else 0,
                "why": end.why if end else "",
                "act": end.act_id if end else None,
                "at": end.act.occurred_at if end else None,
            }
        )
    return {
        loan: LentNow(
            its,
            [one["hold"] for one in its if not one["how"]],
            fate_of((one["amount"], bool(one["how"]), one["picked"]) for one in its),
        )
        for loan, its in rows.items()
    }


def shares_of(facts: Mapping[int, Facts], *more: Owed) -> dict[int, Share]:
    """Loan id → its share of what came, and is to come, of the line that pays it back, where several are paid back by one line: of all loans by
    these lines that run, or were said to be paid back, and of `more` of the one line. One query, none for no line."""
    if not facts:
        return {}
    owed: dict[int, list[Owed]] = {line: list(more) for line in facts}
    rows = Loan.objects.filter(order_line__in=facts).filter(Q(end__isnull=True) | Q(end__how=HowOver.PAID_BACK.value))
    for row in rows.select_related("request__hold__to_spot__place", "end"):
        end, asked = getattr(row, "end", None), row.request
        if row.order_line_id is not None:
            owed[row.order_line_id].append(
                Owed(row.pk, asked.amount, row.act_id, asked.hold.day, end.act_id if end else None)
            )
    shares: dict[int, Share] = {}
    for line, its in facts.items():
        came = [(row.receipt.act_id, line_state(0, 0, [one]).accepted) for row, one in its.deliveries]
        shares |= shared_out(owed[line], came, its.state.outstanding + its.state.in_inspection)
    return shares


def payback_of(facts: Facts, share: Share, needed_on: date, lent: int, on: date) -> Payback:
    """The line as what pays so much back to a donor that needs it on a day, seen on another. One whose order was taken back promises nothing,
    and one that was closed, or whose day went by, pays nothing back. share: this loan's of the line (`shares_of`)."""
    promised = facts.promises[-1][0] if facts.promises else None
    line = facts.line
    late = payback_late(promised, needed_on, on, lent=lent, came=share.came, coming=share.coming)
    return Payback(line.order.number, line.line, promised, facts.state.outstanding, late, share.came, share.before)


def jobs_by_cart(rows: Iterable[LoanRequest]) -> dict[int, str]:
    """Place id of a cart → number of its job, for both sides of requests. One query."""
    places = {spot.place_id for row in rows for spot in (row.hold.to_spot, row.to_spot)}
    return dict(Job.objects.filter(cart__in=places).values_list("cart_id", "number"))


def loans_of(job: Job, now: datetime) -> list[dict[str, Any]]:
    """Everything that was asked to be lent by a job or to it, oldest first, as it stands at a moment.

    [{request, from_job, to_job, hold, part, lot, serial, amount, base, asked_of, asked_by, asked_at, answer_by, state, reason,
    answered_at, answer_reason, hold_ended, loan}]; hold_ended: None, or how the hold that was asked for ended before anything was lent of it
    {how, why, act, at}; loan: None or {lent_at, lent_by, holds, held, picked, gone, rest, payback: None or {order, line, promised_on,
    outstanding, late, came, before}, short, over, over_at, over_by, over_why}, `holds` being the borrower's with how each ended. Ten queries, whatever
    their number.
    """
    cart = job.cart_id
    rows = list(_requests().filter(Q(hold__to_spot__place=cart) | Q(to_spot__place=cart)).order_by("pk"))
    numbers = jobs_by_cart(rows)
    lent = lent_now(row.pk for row in rows if hasattr(row, "loan"))
    lines = {row.loan.order_line for row in rows if hasattr(row, "loan") and row.loan.order_line is not None}
    facts = facts_of(lines) if lines else {}
    shares = shares_of(facts)
    return [_said(row, numbers, lent.get(row.pk), facts, shares, now) for row in rows]


def _said(
    row: LoanRequest,
    numbers: dict[int, str],
    lent: LentNow | None,
    facts: dict[int, Facts],
    shares: dict[int, Share],
    now: datetime,
) -> dict[str, Any]:
    answer, loan, item = getattr(row, "answer", None), getattr(row, "loan", None), row.hold.item
    end = getattr(row.hold, "end", None) if loan is None else None
    return {
        "request": row.pk,
        "from_job": numbers.get(row.hold.to_spot.place_id, ""),
        "to_job": numbers.get(row.to_spot.place_id, ""),
        "hold": row.hold_id,
        "part": item.part.number,
        "lot": item.lot_code,
        "serial": item.serial_number,
        "amount": row.amount,
        "base": item.base,
        "needed_there_on": row.hold.day,
        "asked_of": row.asked_of.username,
        "asked_by": row.act.actor.username,
        "asked_at": row.act.occurred_at,
        "answer_by": row.act.occurred_at + timedelta(minutes=row.minutes),
        "state": state_of(row, now).value,
        "reason": row.reason,
        "answered_at": answer.act.occurred_at if answer else None,
        "answer_reason": answer.reason if answer else "",
        "hold_ended": (
            {"how": end.how, "why": end.why, "act": end.act_id, "at": end.act.occurred_at} if end is not None else None
        ),
        "loan": (
            _loan(loan, row, lent, facts, shares, shop_day(now)) if loan is not None and lent is not None else None
        ),
    }


def state_of(row: LoanRequest, now: datetime) -> Word:
    """How a request stands at a moment."""
    answer = getattr(row, "answer", None)
    end = getattr(row.hold, "end", None) if not hasattr(row, "loan") else None
    gone_at = end.act.occurred_at if end is not None else None
    return word(row.act.occurred_at, answer.agreed if answer else None, now, row.minutes, gone_at)


def _loan(
    loan: Loan, row: LoanRequest, lent: LentNow, facts: dict[int, Facts], shares: dict[int, Share], on: date
) -> dict[str, Any]:
    line, end = loan.order_line_id, getattr(loan, "end", None)
    return {
        "lent_at": loan.act.occurred_at,
        "lent_by": loan.act.actor.username,
        "holds": lent.holds,
        "held": lent.fate.held,
        "picked": lent.fate.picked,
        "gone": lent.fate.gone,
        "rest": loan.rest_id,
        "payback": (
            payback_of(facts[line], shares.get(loan.pk, Share()), row.hold.day, row.amount, on).said()
            if line is not None
            else None
        ),
        "short": loan.short.amount if loan.short else 0,
        "over": end.how if end else "",
        "over_at": end.act.occurred_at if end else None,
        "over_by": end.act.actor.username if end else "",
        "over_why": end.act.reason if end else "",
    }


def lent_away(job: Job, on: date) -> list[tuple[Loan, Payback | None]]:
    """What the job lent in loans that are not over, with what pays it back, seen on a day. Up to eight queries, one where nothing is."""
    rows = list(
        Loan.objects.filter(request__hold__to_spot__place=job.cart_id, end__isnull=True)
        .select_related(
            "request__hold__item__part",
            "request__hold__to_spot__place",
            "request__to_spot",
            "order_line__order",
            "short",
        )
        .order_by("pk")
    )
    lines = {row.order_line for row in rows if row.order_line is not None}
    facts = facts_of(lines) if lines else {}
    shares = shares_of(facts)
    return [
        (
            row,
            payback_of(facts[row.order_line_id], shares[row.pk], row.request.hold.day, row.request.amount, on)
            if row.order_line_id
            else None,
        )
        for row in rows
    ]
