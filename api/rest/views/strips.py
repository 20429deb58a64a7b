"""`jobs/{number}/finds`, `/removals` and `/inspections`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, MOVEMENTS, act, reading
from api.rest.serializers import strips as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from kits.queries.at_positions import removals_of
from kits.queries.belongings import finds_of
from kits.queries.scope import job_by_number
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove


class JobFindsView(View):
    """`jobs/{number}/finds`."""

    acts = {"POST": "find"}

    @reading(
        "jobs_finds_list",
        "What was found in the engine, and what became of it: found = reused + given back + scrapped + still here + elsewhere",
        shapes.FindsSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """Finds, in order."""
        return Response({"finds": finds_of(job_by_number(number))})

    @act(
        "jobs_finds_create",
        "Record parts that are in the engine and that nobody recorded, as far as they are known",
        shapes.FindsInSerializer,
        shapes.FindsMadeSerializer,
        refusals=(
            *ON_JOB,
            *AMOUNTS,
            *MOVEMENTS,
            "more-than-listed",
            "nothing-given",
            "part-number-unreadable",
            "position-taken",
            "position-unknown",
            "serial-is-one",
            "serial-missing",
            "serial-not-kept",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            finds = [FindIn(**one) for one in data["finds"]]
            return find_in_engine(actor=actor_of(request), stamp=stamp, job=number, finds=finds)

        return self.do(request, shapes.FindsInSerializer, service)


class JobRemovalsView(View):
    """`jobs/{number}/removals`."""

    acts = {"POST": "remove"}

    @reading(
        "jobs_removals_list",
        "What came out of the engine on the job: from where, as far as anybody knows, and how it is marked",
        shapes.RemovalsSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """Removals, in order."""
        return Response({"removals": removals_of(job_by_number(number))})

    @act(
        "jobs_removals_create",
        "Take parts out of the engine; each position is kept with what came out of it",
        shapes.RemovalsInSerializer,
        shapes.RemovalsMadeSerializer,
        refusals=(
            *ON_JOB,
            *MOVEMENTS,
            "nothing-given",
            "position-empty",
            "position-unknown",
            "reason-missing",
            "ring-look-unusable",
            "tag-used",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Remove."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            removals = [RemoveIn(**one) for one in data["removals"]]
            return remove(actor=actor_of(request), stamp=stamp, job=number, removals=removals)

        return self.do(request, shapes.RemovalsInSerializer, service)


class JobInspectionsView(View):
    """`jobs/{number}/inspections`."""

    acts = {"POST": "inspect"}

    @act(
        "jobs_inspections_create",
        "Hold old parts against their limits; a good one takes its position off the list where its class allows that",
        shapes.InspectionsInSerializer,
        shapes.InspectionsMadeSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            "gauge-wrong",
            "not-reusable",
            "nothing-given",
            "position-lost",
            "position-unknown",
            "reason-missing",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Inspect."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            inspections = [InspectIn(**one) for one in data["inspections"]]
            return inspect(actor=actor_of(request), stamp=stamp, job=number, inspections=inspections)

        return self.do(request, shapes.InspectionsInSerializer, service)
