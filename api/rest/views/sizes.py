"""`jobs/{number}/sizes`, their withdrawals, and `engines/{number}/sizes`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import sizes as bodies
from api.rest.serializers.common import ReasonSerializer
from api.rest.shapes import values
from api.rest.views.base import View, actor_of
from api.rest.views.engines import engine_of
from api.rest.views.jobs import ON_JOB
from kits.queries.sizes import sizes_of
from kits.services.sizes import SizeIn, record_sizes, withdraw_size


class EngineSizesView(View):
    """`engines/{number}/sizes`."""

    @reading(
        "engines_sizes_read",
        "Sizes that stay with the engine: how each stands, what is left to cut, every entry with job, day and gauge",
        bodies.EngineSizesSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """The record."""
        return Response(values(sizes_of(engine_of(number))))


class JobSizesView(View):
    """`jobs/{number}/sizes`."""

    acts = {"POST": "measure"}

    @act(
        "jobs_sizes_create",
        "Enter what was cut, measured or repaired and stays with the engine; it limits parts and cuts of later jobs",
        bodies.SizesInSerializer,
        bodies.SizesMadeSerializer,
        refusals=(
            *ON_JOB,
            *AMOUNTS,
            "gauge-wrong",
            "no-limit",
            "nothing-given",
            "position-unknown",
            "readings-disagree",
            "size-goes-back",
            "size-over-limit",
            "size-unusable",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Enter."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            rows = [SizeIn(**one) for one in data["sizes"]]
            return record_sizes(actor=actor_of(request), stamp=stamp, job=number, sizes=rows)

        return self.do(request, bodies.SizesInSerializer, service)


class SizeWithdrawalsView(View):
    """`jobs/{number}/sizes/{id}/withdrawals`."""

    acts = {"POST": "withdraw_reading"}

    @act(
        "jobs_sizes_withdraw",
        "An entry of a size turned out wrong: it stays with the reason, and never counted",
        ReasonSerializer,
        bodies.SizeWithdrawnSerializer,
        refusals=("not-found", "reason-missing", "withdrawn-already"),
    )
    def post(self, request: Request, number: str, one: int) -> Response:
        """Withdraw."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: withdraw_size(
                actor=actor_of(request), stamp=stamp, job=number, size_id=one, reason=data["reason"]
            ),
        )
