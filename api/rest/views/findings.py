"""`jobs/{number}/findings`, their withdrawals, and `approvals`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import findings as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON, ON_JOB
from api.rest.views.parts import facts_of
from api.rest.views.trace import day
from kits.queries.extra_work import approvals_record
from kits.queries.scope import job_by_number
from kits.services.jobs import FindingIn, record_approval, record_findings, withdraw_finding


class JobFindingsView(View):
    """`jobs/{number}/findings`."""

    acts = {"POST": "finding"}

    @act(
        "jobs_findings_create",
        "Record what the strip found; extra work waits for the owner's word",
        shapes.FindingsInSerializer,
        shapes.FindingsMadeSerializer,
        refusals=(*ON_JOB, "finding-on-job", "finding-place-wrong", "finding-unknown", "nothing-given"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            found = [FindingIn(**one) for one in facts.pop("findings")]
            return record_findings(actor=actor_of(request), stamp=stamp, job=number, findings=found, **facts)

        return self.do(request, shapes.FindingsInSerializer, service)


class FindingWithdrawalsView(View):
    """`jobs/{number}/findings/{id}/withdrawals`."""

    acts = {"POST": "finding"}

    @act(
        "jobs_findings_withdraw",
        "A finding turned out wrong: the list shrinks, nothing is deleted",
        ReasonSerializer,
        shapes.FindingWithdrawnSerializer,
        refusals=(*ON_JOB, "reason-missing", "withdrawn-already"),
    )
    def post(self, request: Request, number: str, finding: int) -> Response:
        """Withdraw."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: withdraw_finding(
                actor=actor_of(request), stamp=stamp, job=number, finding_id=finding, reason=data["reason"]
            ),
        )


class JobApprovalsView(View):
    """`jobs/{number}/approvals`."""

    acts = {"POST": "approve"}
    parameters = ("on",)

    @reading(
        "jobs_approvals_read",
        "The owner's words on extra work; limit, used and left, in money and hours; hours worked on it",
        shapes.ApprovalsSerializer,
        refusals=("not-found", *LISTING),
        parameters=(ON,),
    )
    def get(self, request: Request, number: str) -> Response:
        """All words."""
        return Response(approvals_record(job_by_number(number), day(request, "on")))

    @act(
        "jobs_approvals_create",
        "Record the owner's word on extra work: who gave it, how, up to what sum and how many hours",
        shapes.ApprovalInSerializer,
        shapes.ApprovalMadeSerializer,
        refusals=(*ON_JOB, *AMOUNTS, *LISTING, "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.ApprovalInSerializer,
            lambda stamp, data: record_approval(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )
