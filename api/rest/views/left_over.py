"""`jobs/{number}/extras`, `/returns`, `/scraps`, `/not-needed` and `/tool-returns`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, MOVEMENTS, act
from api.rest.serializers import left_over as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from api.rest.views.scope import by_name
from kits.services.extras import ask_for_more
from kits.services.finish import mark_not_needed, tools_back
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job


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
            *LISTING,
            *AMOUNTS,
            "allocation-unreadable",
            "companion-missing",
            "fill-over-book",
            "not-for-engine",
            "not-free",
            "over-limit",
            "substitute-not-agreed",
            "part-number-unreadable",
            "part-to-be-sorted",
            "position-unknown",
            "reason-missing",
            "stopped-by-maker",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Ask."""
        return self.do(
            request,
            shapes.ExtraInSerializer,
            lambda stamp, data: ask_for_more(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class JobReturnsView(View):
    """`jobs/{number}/returns`."""

    acts = {"POST": "return"}

    @act(
        "jobs_returns_create",
        "Bring back what was not used: the returns table says where it goes; with a reason the parts manager may say otherwise",
        shapes.ReturnsInSerializer,
        shapes.ReturnsMadeSerializer,
        refusals=(
            *ON_JOB,
            *AMOUNTS,
            *MOVEMENTS,
            "mark-not-cleaned",
            "not-unused",
            "not-whole",
            "nothing-given",
            "other-site",
            "reason-missing",
            "return-override-refused",
            "serial-is-one",
            "storage-unsuitable",
            "tube-not-opened",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Bring back."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            returns = [ReturnIn(item_id=one.pop("item"), **one) for one in data["returns"]]
            word = data.get("storage_word", "")
            return return_unused(actor=actor_of(request), stamp=stamp, job=number, returns=returns, storage_word=word)

        return self.do(request, shapes.ReturnsInSerializer, service)


class JobScrapsView(View):
    """`jobs/{number}/scraps`."""

    acts = {"POST": "scrap"}

    @act(
        "jobs_scraps_create",
        "Scrap something of the job at its bench or on its cart, with the reason and who pays; half a set never",
        shapes.JobScrapInSerializer,
        shapes.JobScrapMadeSerializer,
        refusals=(
            *ON_JOB,
            *AMOUNTS,
            *MOVEMENTS,
            "half-a-set",
            "photo-asked",
            "reason-missing",
            "serial-is-one",
            "who-pays-unknown",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Scrap."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            return scrap_for_job(actor=actor_of(request), stamp=stamp, job=number, item_id=facts.pop("item"), **facts)

        return self.do(request, shapes.JobScrapInSerializer, service)


class JobNotNeededView(View):
    """`jobs/{number}/not-needed`."""

    acts = {"POST": "fit"}

    @act(
        "jobs_not_needed_create",
        "Listed positions that get nothing, each with its because",
        shapes.NotNeededInSerializer,
        shapes.NotNeededMadeSerializer,
        refusals=(*ON_JOB, "always-new", "not-on-list", "position-unknown", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Mark."""
        return self.do(
            request,
            shapes.NotNeededInSerializer,
            lambda stamp, data: mark_not_needed(
                actor=actor_of(request),
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
            lambda stamp, data: tools_back(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )
