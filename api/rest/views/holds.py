"""`jobs/{number}/holds`, and giving holds up."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import act, reading
from api.rest.serializers import holds as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from api.rest.views.scope import by_name
from kits.queries import pick_lists
from kits.queries.scope import job_by_number
from kits.services.hold_kit import hold_kit
from kits.services.release import lapse, release
from kits.services.release_unasked import release_unasked


class HoldFilters(filters.StrictFilterSet):
    """Filters of the holds of a job."""

    part = filters.text("hold__item__part__number", "of this part")
    open = filters.Truth("not picked, released, lapsed or made impossible", method="is_open")

    def is_open(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Open ones, or those that ended."""
        return rows.filter(hold__end__isnull=value)


class JobHoldsView(ListView):
    """`jobs/{number}/holds`."""

    acts = {"POST": "hold"}
    filterset_class = HoldFilters
    orderings = ("pk", "line")

    def rows(self) -> QuerySet[Any]:
        """Holds of the job."""
        return pick_lists.holds_of(job_by_number(self.kwargs["number"]))

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [pick_lists.hold_record(row) for row in rows]

    @reading(
        "jobs_holds_list",
        "What is held, or was, for a job",
        shapes.HoldSerializer(many=True),
        filtered=True,
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """A page of holds."""
        return self.page(request)

    @act(
        "jobs_holds_create",
        "Hold what the job's list still lacks, as far as the shelves have it; never refused for quantity",
        shapes.KitHoldInSerializer,
        shapes.KitHeldSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            "allocation-unreadable",
            "companion-missing",
            "dates-turned",
            "list-empty",
            "list-not-ready",
            "mixed",
            "not-free",
            "not-on-list",
            "nothing-to-hold",
            "over-limit",
            "part-to-be-sorted",
            "reason-missing",
            "step-not-on-job",
            "wrong-rubber",
            "stopped-by-maker",
            "substitute-not-agreed",
            "verdict-fails",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Hold."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            facts["lots"] = by_name(facts.get("lots", []), "part", "lots", "lots")
            return hold_kit(actor=actor_of(request), stamp=stamp, job=number, **facts)

        return self.do(request, shapes.KitHoldInSerializer, service)


class HoldReleasesView(View):
    """`holds/{id}/releases`."""

    acts = {"POST": "release"}

    @act(
        "holds_releases_create",
        "Give a hold up; what it held is free again",
        ReasonSerializer,
        shapes.HoldReleasedSerializer,
        refusals=("hold-ended", "hold-lent", "not-found", "reason-missing"),
    )
    def post(self, request: Request, hold: int) -> Response:
        """Release."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: release(actor=actor_of(request), stamp=stamp, hold=hold, reason=data["reason"]),
        )


class JobReleasesView(View):
    """`jobs/{number}/releases`."""

    acts = {"POST": "release"}

    @act(
        "jobs_releases_create",
        "Give up, in one act, everything that is held for the job and that its list asks for no longer",
        ReasonSerializer,
        shapes.UnaskedReleasedSerializer,
        refusals=(*ON_JOB, *LISTING, "hold-ended", "nothing-to-release", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Release."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: release_unasked(
                actor=actor_of(request), stamp=stamp, job=number, reason=data["reason"]
            ),
        )


class HoldLapsesView(View):
    """`holds/{id}/lapses`."""

    acts = {"POST": "release"}

    @act(
        "holds_lapses_create",
        "End a hold whose day is past",
        ReasonSerializer,
        shapes.HoldLapsedSerializer,
        refusals=("hold-ended", "hold-lent", "not-found", "not-lapsed"),
    )
    def post(self, request: Request, hold: int) -> Response:
        """It has lapsed."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: lapse(actor=actor_of(request), stamp=stamp, holds=[hold], reason=data["reason"]),
        )
