"""`jobs/{number}/fittings` and `jobs/{number}/fitting-corrections`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import MOVEMENTS, act
from api.rest.serializers import fittings as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from inventory.queries.people import person_by_login
from kits.services.fit import FitIn, fit
from kits.services.fitting_corrections import correct_fitting


class JobFittingsView(View):
    """`jobs/{number}/fittings`."""

    acts = {"POST": "fit"}

    @act(
        "jobs_fittings_create",
        "Fit parts from the job's bench into the engine",
        shapes.FittingsInSerializer,
        shapes.FittingsMadeSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            *MOVEMENTS,
            "always-new",
            "amount-not-positive",
            "bedded-to-another",
            "checker-missing",
            "choice-open",
            "companion-missing",
            "expired",
            "fill-over-book",
            "filled-early",
            "gate-missing",
            "half-a-set",
            "height-undecided",
            "layout-stale",
            "leak-test-missing",
            "list-not-ready",
            "lot-stopped",
            "lubricant-unknown",
            "mark-differs",
            "match-stale",
            "may-not-check",
            "mixed",
            "more-than-listed",
            "not-as-judged",
            "not-for-engine",
            "not-inspected",
            "not-on-duty",
            "not-on-list",
            "not-reusable",
            "not-signed",
            "nothing-given",
            "photo-check-missing",
            "position-lost",
            "position-taken",
            "position-unknown",
            "ring-leaked",
            "same-person",
            "sealant-harms-sensors",
            "set-broken",
            "set-put-aside",
            "shim-missing",
            "substitute-not-agreed",
            "tube-not-opened",
            "verdict-fails",
            "verdict-stale",
            "size-forbids",
            "wrong-bore",
            "wrong-lubricant",
            "wrong-part",
            "wrong-place-of-origin",
            "wrong-rubber",
            "wrong-turn",
            "stopped-by-maker",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Fit."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            login = data.get("checker")
            return fit(
                actor=actor_of(request),
                stamp=stamp,
                job=number,
                fittings=[FitIn(**one) for one in data["fittings"]],
                checker=person_by_login(login) if login is not None else None,
                early_fill=data.get("early_fill", ""),
                otherwise=data.get("otherwise", ""),
            )

        return self.do(request, shapes.FittingsInSerializer, service)


class JobFittingCorrectionsView(View):
    """`jobs/{number}/fitting-corrections`."""

    acts = {"POST": "correct"}

    @act(
        "jobs_fitting_corrections_create",
        "Another lot or serial was fitted than our records say: true since the fitting, of a closed job too; nothing stops it, what is "
        "wrong with what really went in is said",
        shapes.FittingCorrectionInSerializer,
        shapes.FittingCorrectedSerializer,
        refusals=(
            *MOVEMENTS,
            "amount-not-positive",
            "more-than-listed",
            "not-correctable",
            "not-found",
            "reason-missing",
            "wrong-part",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Correct what was fitted."""
        return self.do(
            request,
            shapes.FittingCorrectionInSerializer,
            lambda stamp, data: correct_fitting(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )
