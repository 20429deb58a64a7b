"""`jobs/{number}/loans`, asking for a loan, the word on it, lending, giving back."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import loans as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from inventory.queries.people import person_by_login
from kits.queries.loans import loans_of
from kits.queries.scope import job_by_number
from kits.services.lending import answer_to_lend, ask_to_lend, lend
from kits.services.loan_ends import close_loan, give_back_loan


class JobLoansView(View):
    """`jobs/{number}/loans`."""

    @reading(
        "jobs_loans_list",
        "What was asked to be lent by the job or to it, who consented, what went, and what pays it back",
        shapes.JobLoansSerializer,
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """Loans now."""
        row = job_by_number(number)
        return Response({"job": row.number, "loans": loans_of(row, timezone.now())})


class JobLoanRequestsView(View):
    """`jobs/{number}/loan-requests`."""

    acts = {"POST": "ask_loan"}

    @act(
        "jobs_loan_requests_create",
        "Ask for so much of what is held for another job; its technician is asked by name, and has a limited time to consent",
        shapes.LoanRequestInSerializer,
        shapes.LoanRequestSerializer,
        refusals=(*ON_JOB, *AMOUNTS, "hold-ended", "loan-unusable", "reason-missing", "same-person", "serial-is-one"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Ask."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            asked = person_by_login(facts.pop("asked_of"))
            return ask_to_lend(actor=actor_of(request), stamp=stamp, job=number, asked_of=asked, **facts)

        return self.do(request, shapes.LoanRequestInSerializer, service)


class LoanAnswersView(View):
    """`loan-requests/{id}/answers`."""

    acts = {"POST": "answer_loan"}

    @act(
        "loan_requests_answers_create",
        "The technician who was asked agrees, or does not; after the time there is, the thing stays with its job",
        shapes.LoanAnswerInSerializer,
        shapes.LoanAnswerSerializer,
        refusals=(
            "dates-turned",
            "hold-ended",
            "job-ended",
            "loan-answered",
            "loan-late",
            "not-found",
            "reason-missing",
            "second-person-needed",
        ),
    )
    def post(self, request: Request, asked: int) -> Response:
        """Answer."""
        return self.do(
            request,
            shapes.LoanAnswerInSerializer,
            lambda stamp, data: answer_to_lend(actor=actor_of(request), stamp=stamp, request=asked, **facts_of(data)),
        )


class LoansView(View):
    """`loan-requests/{id}/loans`."""

    acts = {"POST": "lend"}

    @act(
        "loan_requests_loans_create",
        "Lend what was agreed to; where nothing pays it back by the day of the lending job, that job is short at once",
        shapes.LoanInSerializer,
        shapes.LoanMadeSerializer,
        refusals=(
            *ON_JOB, *LISTING, "allocation-unreadable", "companion-missing", "done-already", "hold-ended", "list-empty",
            "list-not-ready", "loan-not-agreed", "loan-unusable", "mixed", "more-than-outstanding", "not-free", "nothing-to-hold", "over-limit", "substitute-not-agreed",
            "part-to-be-sorted", "stopped-by-maker", "verdict-fails", "wrong-part", "wrong-rubber",
        ),
    )  # fmt: skip
    def post(self, request: Request, asked: int) -> Response:
        """Lend."""
        return self.do(
            request,
            shapes.LoanInSerializer,
            lambda stamp, data: lend(actor=actor_of(request), stamp=stamp, request=asked, **facts_of(data)),
        )


class LoanReturnsView(View):
    """`loans/{id}/returns`."""

    acts = {"POST": "lend"}

    @act(
        "loans_returns_create",
        "What was lent goes back to the lending job, as far as it is still held and before any of it was picked",
        ReasonSerializer,
        shapes.LoanBackSerializer,
        refusals=(*ON_JOB, "done-already", "hold-ended", "not-free", "reason-missing"),
    )
    def post(self, request: Request, loan: int) -> Response:
        """Give back."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: give_back_loan(actor=actor_of(request), stamp=stamp, loan=loan, reason=data["reason"]),
        )


class LoanClosingsView(View):
    """`loans/{id}/closings`."""

    acts = {"POST": "lend"}

    @act(
        "loans_closings_create",
        "A loan is over: it was paid back, or nothing of it comes back, and the lending job is short by name",
        shapes.LoanCloseSerializer,
        shapes.LoanClosedSerializer,
        refusals=("done-already", "not-found", "reason-missing"),
    )
    def post(self, request: Request, loan: int) -> Response:
        """Close."""
        return self.do(
            request,
            shapes.LoanCloseSerializer,
            lambda stamp, data: close_loan(actor=actor_of(request), stamp=stamp, loan=loan, **facts_of(data)),
        )
