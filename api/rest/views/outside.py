"""`jobs/{number}/outside-work` its `due-dates` and `returns`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.fields import ActSerializer
from api.rest.schema import AMOUNTS, MOVEMENTS, act
from api.rest.serializers import outside as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.dates import CHECKED
from api.rest.views.jobs import ON_JOB
from api.rest.views.parts import facts_of
from kits.services.outside import back_from_outside, lose_outside, promise_back, send_outside


class JobOutsideWorkView(View):
    """`jobs/{number}/outside-work`."""

    acts = {"POST": "outside"}

    @act(
        "jobs_outside_work_create",
        "A piece that came out of the engine goes from the bench to an outside machinist; due back after the day of fitting, it moves that day",
        shapes.OutsideWorkInSerializer,
        shapes.OutsideWorkSentSerializer,
        refusals=(
            *CHECKED, *AMOUNTS, *MOVEMENTS, "dates-turned", "not-out-of-engine", "serial-is-one", "step-not-on-job", "wrong-place",
        ),
    )  # fmt: skip
    def post(self, request: Request, number: str) -> Response:
        """Send."""
        return self.do(
            request,
            shapes.OutsideWorkInSerializer,
            lambda stamp, data: send_outside(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class OutsideWorkDueDatesView(View):
    """`jobs/{number}/outside-work/{id}/due-dates`."""

    acts = {"POST": "outside"}

    @act(
        "jobs_outside_work_due_dates_create",
        "The machinist named another day for a piece that is out; after the day of fitting it moves that day",
        shapes.OutsideDueInSerializer,
        shapes.OutsideDueSerializer,
        refusals=(*CHECKED, "back-already", "dates-turned", "lost-outside", "reason-missing"),
    )
    def post(self, request: Request, number: str, outside: int) -> Response:
        """Another day."""
        return self.do(
            request,
            shapes.OutsideDueInSerializer,
            lambda stamp, data: promise_back(
                actor=actor_of(request), stamp=stamp, job=number, outside_work=outside, **facts_of(data)
            ),
        )


class OutsideWorkReturnsView(View):
    """`jobs/{number}/outside-work/{id}/returns`."""

    acts = {"POST": "outside"}

    @act(
        "jobs_outside_work_returns_create",
        "The piece came back to the bench",
        ActSerializer,
        shapes.OutsideWorkBackSerializer,
        refusals=(*ON_JOB, *MOVEMENTS, "back-already", "lost-outside"),
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


class OutsideWorkLossesView(View):
    """`jobs/{number}/outside-work/{id}/losses`."""

    acts = {"POST": "outside"}

    @act(
        "jobs_outside_work_losses_create",
        "A piece, or some of it, was lost at the machinist's: counted short, and the job short of it by name",
        shapes.OutsideLossInSerializer,
        shapes.OutsideLossSerializer,
        refusals=(*ON_JOB, *AMOUNTS, *MOVEMENTS, "back-already", "lost-outside", "reason-missing", "serial-is-one"),
    )
    def post(self, request: Request, number: str, outside: int) -> Response:
        """It is lost."""
        return self.do(
            request,
            shapes.OutsideLossInSerializer,
            lambda stamp, data: lose_outside(
                actor=actor_of(request), stamp=stamp, job=number, outside_work=outside, **facts_of(data)
            ),
        )
