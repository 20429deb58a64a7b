"""`jobs/{number}/verdicts`, the acceptance of a result, and sets that are matched again."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import MOVEMENTS, act
from api.rest.serializers import items as shapes
from api.rest.serializers import verdicts as bodies
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from inventory.queries.people import person_by_login
from inventory.services.run import Done, Stamp
from kits.services.accept import accept_result
from kits.services.judge import judge_readings
from kits.services.match_set import match_set


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

    acts = {"POST": "accept"}

    @act(
        "jobs_results_accept",
        "Accept what a result chose: the list then asks for exactly that, and nothing else is fitted there",
        bodies.AcceptanceInSerializer,
        bodies.AcceptanceMadeSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            "choice-not-candidate",
            "doubtful",
            "nothing-to-accept",
            "reason-missing",
            "result-stale",
            "verdict-fails",
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


class JobMatchedSetsView(View):
    """`jobs/{number}/matched-sets`."""

    acts = {"POST": "match_set"}

    @act(
        "jobs_matched_sets_create",
        "Match a new set from what broken ones left, by readings on record; a second person signs, the broken ones stay broken",
        shapes.MatchInSerializer,
        shapes.MatchMadeSerializer,
        refusals=(
            *ON_JOB,
            *MOVEMENTS,
            "bore-readings-short",
            "half-a-set",
            "limits-unreadable",
            "match-member-wrong",
            "match-refused",
            "may-not-check",
            "no-limit",
            "not-a-set",
            "not-on-duty",
            "old-unit-known",
            "part-number-unreadable",
            "reading-unusable",
            "readings-disagree",
            "readings-missing",
            "same-person",
            "serial-known",
            "stopped",
            "was-in-engine",
            "wrong-part",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Match."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            signed_by = person_by_login(facts.pop("signed_by"))
            return match_set(actor=actor_of(request), stamp=stamp, job=number, signed_by=signed_by, **facts)

        return self.do(request, shapes.MatchInSerializer, service)
