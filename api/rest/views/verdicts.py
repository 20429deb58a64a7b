"""`jobs/{number}/verdicts`, and the acceptance of a result."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act
from api.rest.serializers import verdicts as bodies
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from kits.services.accept import accept_result
from kits.services.judge import judge_readings


class JobVerdictsView(View):
    """`jobs/{number}/verdicts`."""

    acts = {"POST": "measure"}

    @act(
        "jobs_verdicts_create",
        "Judge the readings of a job: clearance, ring gaps, bearing halves, thrust washers, grade of the head gasket",
        bodies.VerdictInSerializer,
        bodies.VerdictMadeSerializer,
        refusals=(
            *ON_JOB,
            "bearing-impossible",
            "bearing-unreadable",
            "bore-readings-short",
            "gasket-grade-none",
            "limits-unreadable",
            "no-limit",
            "position-unknown",
            "projection-not-accepted",
            "reading-unusable",
            "readings-disagree",
            "readings-missing",
            "ring-other-bore",
            "serial-ambiguous",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Judge."""
        return self.do(
            request,
            bodies.VerdictInSerializer,
            lambda stamp, data: judge_readings(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class ResultAcceptancesView(View):
    """`jobs/{number}/results/{id}/acceptances`."""

    acts = {"POST": "choose"}

    @act(
        "jobs_results_accept",
        "Accept what a result chose: the list then asks for exactly that, and nothing else is fitted there",
        bodies.AcceptanceInSerializer,
        bodies.AcceptanceMadeSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            "choice-not-candidate",
            "nothing-to-accept",
            "reason-missing",
            "result-stale",
        ),
    )
    def post(self, request: Request, number: str, one: int) -> Response:
        """Accept."""
        return self.do(
            request,
            bodies.AcceptanceInSerializer,
            lambda stamp, data: accept_result(
                actor=actor_of(request), stamp=stamp, job=number, result_id=one, **facts_of(data)
            ),
        )
