"""`jobs/{number}/extras`, `/not-needed` and `/tool-returns`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, act
from api.rest.serializers import left_over as shapes
from api.rest.views.base import View
from api.rest.views.jobs import ON_JOB
from api.rest.views.parts import facts_of
from api.rest.views.scope import by_name
from kits.services.extras import ask_for_more
from kits.services.finish import mark_not_needed, tools_back


class JobExtrasView(View):
    """`jobs/{number}/extras`."""

    acts = {"POST": "ask_more"}

    @act(
        "jobs_extras_create",
        "Ask for one more in mid-job, always with a reason of the short list",
        shapes.ExtraInSerializer,
        shapes.ExtraMadeSerializer,
        refusals=(
            *ON_JOB,
            *AMOUNTS,
            "allocation-unreadable",
            "not-free",
            "part-number-unreadable",
            "position-unknown",
            "reason-missing",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Ask."""
        return self.do(
            request,
            shapes.ExtraInSerializer,
            lambda stamp, data: ask_for_more(actor=request.user, stamp=stamp, job=number, **facts_of(data)),
        )


class JobNotNeededView(View):
    """`jobs/{number}/not-needed`."""

    acts = {"POST": "fit"}

    @act(
        "jobs_not_needed_create",
        "Listed positions that get nothing, each with its because",
        shapes.NotNeededInSerializer,
        shapes.NotNeededMadeSerializer,
        refusals=(*ON_JOB, "position-unknown", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Mark."""
        return self.do(
            request,
            shapes.NotNeededInSerializer,
            lambda stamp, data: mark_not_needed(
                actor=request.user,
                stamp=stamp,
                job=number,
                positions=by_name(data["positions"], "position", "because", "positions"),
            ),
        )


class JobToolReturnsView(View):
    """`jobs/{number}/tool-returns`."""

    acts = {"POST": "return"}

    @act(
        "jobs_tool_returns_create",
        "Special tools counted back into the crib",
        shapes.ToolReturnsInSerializer,
        shapes.ToolReturnsMadeSerializer,
        refusals=(*ON_JOB, "not-on-loan"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Count back."""
        return self.do(
            request,
            shapes.ToolReturnsInSerializer,
            lambda stamp, data: tools_back(actor=request.user, stamp=stamp, job=number, **facts_of(data)),
        )
