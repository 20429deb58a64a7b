"""`jobs/{number}/closings` and `/cancellations`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import MOVEMENTS, act
from api.rest.serializers import endings as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from inventory.queries.people import person_by_login
from kits.services.finish import cancel_job, close_job


class JobClosingsView(View):
    """`jobs/{number}/closings`."""

    acts = {"POST": "close"}

    @act(
        "jobs_closings_create",
        "Close a job: every listed position is fitted, reused or not needed because, nothing is left on cart or bench",
        shapes.ClosingInSerializer,
        shapes.ClosedSerializer,
        refusals=(*ON_JOB, *LISTING, "job-not-done", "may-not-check", "not-on-duty", "same-person", "stopped-by-maker"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Close."""
        return self.do(
            request,
            shapes.ClosingInSerializer,
            lambda stamp, data: close_job(
                actor=actor_of(request), stamp=stamp, job=number, checker=person_by_login(data["checker"])
            ),
        )


class JobCancellationsView(View):
    """`jobs/{number}/cancellations`."""

    acts = {"POST": "cancel"}

    @act(
        "jobs_cancellations_create",
        "Cancel a job: its holds are released, the owner's own parts go back against a signature",
        shapes.CancellationInSerializer,
        shapes.CancelledSerializer,
        refusals=(*ON_JOB, *MOVEMENTS, "job-not-empty", "mark-not-cleaned", "not-signed", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Cancel."""
        return self.do(
            request,
            shapes.CancellationInSerializer,
            lambda stamp, data: cancel_job(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )
