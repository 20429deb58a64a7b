"""`jobs/{number}/dates`, `/checks` of its holds, and `/outside-work`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.fields import ActSerializer
from api.rest.schema import act
from api.rest.serializers import dates as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import ON_JOB
from api.rest.views.parts import facts_of
from kits.services.dates import back_from_outside, move_fit_date, recheck_job, send_outside

_CHECKED = (*ON_JOB, "allocation-unreadable", "not-free")


class JobDatesView(View):
    """`jobs/{number}/dates`."""

    acts = {"POST": "date"}

    @act(
        "jobs_dates_create",
        "Plan the fitting for another day; every hold is checked against it, replaced where it no longer serves, or named short",
        shapes.DateInSerializer,
        shapes.DateMovedSerializer,
        refusals=(*_CHECKED, "dates-turned", "outside-work-due", "reason-missing"),
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
        refusals=_CHECKED,
    )
    def post(self, request: Request, number: str) -> Response:
        """Check."""
        return self.do(
            request, ActSerializer, lambda stamp, data: recheck_job(actor=actor_of(request), stamp=stamp, job=number)
        )


class JobOutsideWorkView(View):
    """`jobs/{number}/outside-work`."""

    acts = {"POST": "outside"}

    @act(
        "jobs_outside_work_create",
        "A piece goes to an outside machinist; a later return moves the day of fitting",
        shapes.OutsideWorkInSerializer,
        shapes.OutsideWorkSentSerializer,
        refusals=(*_CHECKED, "dates-turned", "nothing-given", "step-not-on-job"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Send."""
        return self.do(
            request,
            shapes.OutsideWorkInSerializer,
            lambda stamp, data: send_outside(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class OutsideWorkReturnsView(View):
    """`jobs/{number}/outside-work/{id}/returns`."""

    acts = {"POST": "outside"}

    @act(
        "jobs_outside_work_returns_create",
        "The piece came back",
        ActSerializer,
        shapes.OutsideWorkBackSerializer,
        refusals=(*ON_JOB, "back-already"),
    )
    def post(self, request: Request, number: str, outside: int) -> Response:
        """It is back."""
        return self.do(
            request,
            ActSerializer,
            lambda stamp, data: back_from_outside(
                actor=actor_of(request), stamp=stamp, job=number, outside_work=outside
            ),
        )
