"""`jobs/{number}/dates`, and `/checks` of its holds."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.fields import ActSerializer
from api.rest.schema import act
from api.rest.serializers import dates as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import ON_JOB
from api.rest.views.parts import facts_of
from kits.services.dates import move_fit_date, recheck_job

#: What a check of holds can refuse with.
CHECKED = (*ON_JOB, "allocation-unreadable", "not-free")


class JobDatesView(View):
    """`jobs/{number}/dates`."""

    acts = {"POST": "date"}

    @act(
        "jobs_dates_create",
        "Plan the fitting for another day; every hold is checked against it, replaced where it no longer serves, or named short",
        shapes.DateInSerializer,
        shapes.DateMovedSerializer,
        refusals=(*CHECKED, "dates-turned", "outside-work-due", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Move."""
        return self.do(
            request,
            shapes.DateInSerializer,
            lambda stamp, data: move_fit_date(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class JobChecksView(View):
    """`jobs/{number}/checks`."""

    acts = {"POST": "hold"}

    @act(
        "jobs_checks_create",
        "Check the job's holds against its day of fitting: what was stopped or runs out is replaced or named short",
        ActSerializer,
        shapes.HoldsCheckedSerializer,
        refusals=CHECKED,
    )
    def post(self, request: Request, number: str) -> Response:
        """Check."""
        return self.do(
            request, ActSerializer, lambda stamp, data: recheck_job(actor=actor_of(request), stamp=stamp, job=number)
        )
