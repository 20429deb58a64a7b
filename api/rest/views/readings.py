"""`jobs/{number}/readings`, their withdrawals, and `results`."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters, shapes
from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import readings as bodies
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.jobs import ON_JOB
from kits.queries import readings as read
from kits.queries import results
from kits.queries.scope import job_by_number
from kits.services.readings import ReadingIn, record_readings, withdraw_reading


class ReadingFilters(filters.StrictFilterSet):
    """Filters of readings."""

    what = filters.choice("what", read.WHATS, "what was read")
    place = filters.text("place", "at exactly this place of the engine")
    set = filters.text("serial__number", "of the matched set of exactly this serial")
    gauge = filters.text("gauge__number", "with exactly this gauge")
    withdrawn = filters.Truth("withdrawn ones, or those that count", method="is_withdrawn")

    def is_withdrawn(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Withdrawn readings, or the others."""
        return rows.filter(withdrawal__isnull=not value)


class JobReadingsView(ListView):
    """`jobs/{number}/readings`."""

    acts = {"POST": "measure"}
    filterset_class = ReadingFilters

    def rows(self) -> QuerySet[Any]:
        """Readings of the job."""
        return read.readings().filter(job=job_by_number(self.kwargs["number"]))

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [shapes.values(row) for row in read.rendered(rows)]

    @reading(
        "jobs_readings_list",
        "Readings of a job, withdrawn ones too, each with what keeps it from deciding a pass",
        bodies.ReadingSerializer(many=True),
        filtered=True,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """A page of readings."""
        return self.page(request)

    @act(
        "jobs_readings_create",
        "Record readings; a value where none is expected is asked about, with what was likely meant",
        bodies.ReadingsInSerializer,
        bodies.ReadingsMadeSerializer,
        refusals=(
            *ON_JOB,
            *AMOUNTS,
            "gauge-wrong",
            "nothing-given",
            "position-unknown",
            "reading-implausible",
            "reading-unusable",
            "reason-missing",
            "serial-ambiguous",
            "temperature-missing",
            "too-many-lines",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            rows = [ReadingIn(**one) for one in data["readings"]]
            return record_readings(actor=actor_of(request), stamp=stamp, job=number, readings=rows)

        return self.do(request, bodies.ReadingsInSerializer, service)


class ReadingWithdrawalsView(View):
    """`jobs/{number}/readings/{id}/withdrawals`."""

    acts = {"POST": "withdraw_reading"}

    @act(
        "jobs_readings_withdraw",
        "A reading turned out wrong: it stays, and every result that rests on it is stale",
        ReasonSerializer,
        bodies.ReadingWithdrawnSerializer,
        refusals=("not-found", "reason-missing", "withdrawn-already"),
    )
    def post(self, request: Request, number: str, one: int) -> Response:
        """Withdraw."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: withdraw_reading(
                actor=actor_of(request), stamp=stamp, job=number, reading_id=one, reason=data["reason"]
            ),
        )


class ResultFilters(filters.StrictFilterSet):
    """Filters of results."""

    kind = filters.text("kind", "of exactly this kind")
    subject = filters.text("subject", "of exactly this subject")


class JobResultsView(ListView):
    """`jobs/{number}/results`."""

    filterset_class = ResultFilters

    def rows(self) -> QuerySet[Any]:
        """Results of the job."""
        return results.results().filter(job=job_by_number(self.kwargs["number"]))

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [shapes.values(row) for row in results.rendered(rows)]

    @reading(
        "jobs_results_list",
        "What readings of a job came to; stale ones are marked, and say why",
        bodies.ResultSerializer(many=True),
        filtered=True,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """A page of results."""
        return self.page(request)
