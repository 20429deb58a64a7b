"""`jobs/{number}/washed-out` and its `/returns`: plugs, dowels and oil jets; `jobs/{number}/hot-washes`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act, reading
from api.rest.serializers import washed_out as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import ON_JOB
from api.rest.views.parts import facts_of
from api.rest.views.scope import by_name
from inventory.services.run import Done, Stamp
from kits.queries.scope import job_by_number
from kits.queries.washed_out import record
from kits.services.washed_out import count_washed, hot_wash

_REFUSALS = (
    *ON_JOB,
    "more-back-than-out",
    "more-out-than-listed",
    "nothing-given",
    "reason-missing",
    "washed-out-unknown",
)


class _CountsView(View):
    """Counts one way."""

    acts = {"POST": "count_washed"}

    def count(self, request: Request, number: str, *, back: bool) -> Response:
        """One call of the service."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            facts["counts"] = by_name(facts["counts"], "name", "count", "counts")
            return count_washed(actor=actor_of(request), stamp=stamp, job=number, back=back, **facts)

        return self.do(request, shapes.WashedCountsInSerializer, service)


class JobWashedOutView(_CountsView):
    """`jobs/{number}/washed-out`."""

    @reading(
        "jobs_washed_out_read",
        "Plugs, dowels and oil jets by the family's list: out for washing, back, missing",
        shapes.WashedOutSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """How it stands."""
        return Response(record(job_by_number(number)))

    @act(
        "jobs_washed_out_create",
        "Count what comes out of the block for washing. From the first count on every kind of the list is counted out and back "
        "before the job is closed",
        shapes.WashedCountsInSerializer,
        shapes.WashedCountsMadeSerializer,
        refusals=_REFUSALS,
    )
    def post(self, request: Request, number: str) -> Response:
        """Count out."""
        return self.count(request, number, back=False)


class JobWashedBackView(_CountsView):
    """`jobs/{number}/washed-out/returns`."""

    @act(
        "jobs_washed_out_returns_create",
        "Count what went back into the block; counts add up",
        shapes.WashedCountsInSerializer,
        shapes.WashedCountsMadeSerializer,
        refusals=_REFUSALS,
    )
    def post(self, request: Request, number: str) -> Response:
        """Count back."""
        return self.count(request, number, back=True)


class JobHotWashesView(View):
    """`jobs/{number}/hot-washes`."""

    acts = {"POST": "count_washed"}

    @act(
        "jobs_hot_washes_create",
        "Pieces (block, liner, piston, crank) came out of a hot wash. Light alloy that is read within four hours without the temperatures "
        "of part and gauge is asked about",
        shapes.HotWashInSerializer,
        shapes.HotWashMadeSerializer,
        refusals=(*ON_JOB, "nothing-given", "piece-unknown"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Out of the wash."""
        return self.do(
            request,
            shapes.HotWashInSerializer,
            lambda stamp, data: hot_wash(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )
