"""`jobs/{number}/protrusions`, `/heights-let-be`, `/layout`, `/layout-acceptances` and their withdrawals, `/set-replacements`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import shapes
from api.rest.parameters import described, text
from api.rest.problems import refuse
from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import liners as bodies
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from api.rest.views.trace import today
from kits.queries.layouts import Accepted, layouts_of
from kits.queries.proposals import bore_of, proposal_of, replacements_for
from kits.queries.scope import job_by_number
from kits.services.accept_layout import BoreIn, accept_layout, withdraw_layout
from kits.services.heights import let_height_be
from kits.services.protrusions import judge_protrusion

#: What readings and limits of heights may be refused for.
HEIGHTS = ("heights-unusable", "layout-unusable", "no-limit", "not-on-list", "reading-unusable", "weights-unusable")
SETS = (
    described("set", "serial of the set that is replaced"),
    described("position", "or the use position of its bore"),
)


class JobProtrusionsView(View):
    """`jobs/{number}/protrusions`."""

    acts = {"POST": "measure"}

    @act(
        "jobs_protrusions_create",
        "Judge the height of a liner over the block from the readings of the job; the verdict is kept as a result",
        bodies.ProtrusionInSerializer,
        bodies.ProtrusionMadeSerializer,
        refusals=(
            *ON_JOB,
            *AMOUNTS,
            "height-not-read",
            "heights-unusable",
            "no-limit",
            "position-unknown",
            "reading-unusable",
            "serial-ambiguous",
            "stack-refused",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Judge."""
        return self.do(
            request,
            bodies.ProtrusionInSerializer,
            lambda stamp, data: judge_protrusion(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class JobHeightsLetBeView(View):
    """`jobs/{number}/heights-let-be`."""

    acts = {"POST": "let_height_be"}

    @act(
        "jobs_heights_let_be_create",
        "Let a liner be with a doubtful height, or with none on record: signed by who sends it, with the reason",
        bodies.HeightLetBeInSerializer,
        bodies.HeightLetBeMadeSerializer,
        refusals=(*ON_JOB, "height-not-asked", "position-unknown", "reason-missing", "same-person"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Let it be."""
        return self.do(
            request,
            bodies.HeightLetBeInSerializer,
            lambda stamp, data: let_height_be(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class JobLayoutView(View):
    """`jobs/{number}/layout`."""

    @reading(
        "jobs_layout_read",
        "Which set goes to which bore, turned how, on which shim: the best layout of the sets at hand, with marks and picture",
        bodies.ProposalSerializer,
        refusals=("not-found", *LISTING, *HEIGHTS),
    )
    def get(self, request: Request, number: str) -> Response:
        """The proposal now."""
        return Response(proposal_of(job_by_number(number), today()))


class JobLayoutAcceptancesView(View):
    """`jobs/{number}/layout-acceptances`."""

    acts = {"POST": "accept"}

    @reading(
        "jobs_layout_acceptances_list",
        "Layouts that were accepted, the newest first, each with why it does not hold any more",
        bodies.AcceptedLayoutsSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """All of a job."""
        return Response({"layouts": [accepted(one) for one in layouts_of(job_by_number(number))]})

    @act(
        "jobs_layout_acceptances_create",
        "Accept a layout: its sets and shims are held, and fitting refuses anything else in these bores",
        bodies.LayoutInSerializer,
        bodies.LayoutMadeSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            *HEIGHTS,
            "doubtful",
            "height-not-read",
            "layout-accepted",
            "layout-not-kept",
            "not-free",
            "nothing-given",
            "over-limit",
            "position-unknown",
            "reading-withdrawn",
            "reason-missing",
            "stack-refused",
            "stopped-by-maker",
            "substitute-not-agreed",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Accept."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            bores = [BoreIn(**one) for one in facts.pop("bores")]
            return accept_layout(actor=actor_of(request), stamp=stamp, job=number, bores=bores, **facts)

        return self.do(request, bodies.LayoutInSerializer, service)


class LayoutWithdrawalsView(View):
    """`jobs/{number}/layout-acceptances/{id}/withdrawals`."""

    acts = {"POST": "accept"}

    @act(
        "jobs_layout_acceptances_withdraw",
        "Take an accepted layout back: it stays on record, and which set goes where is open again",
        ReasonSerializer,
        bodies.LayoutWithdrawnSerializer,
        refusals=(*ON_JOB, "reason-missing", "withdrawn-already"),
    )
    def post(self, request: Request, number: str, layout: int) -> Response:
        """Take back."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: withdraw_layout(
                actor=actor_of(request), stamp=stamp, job=number, layout=layout, reason=data["reason"]
            ),
        )


class JobSetReplacementsView(View):
    """`jobs/{number}/set-replacements`."""

    parameters = ("set", "position")

    @reading(
        "jobs_set_replacements_read",
        "Which sets at hand may replace one of the engine: by the weight of its piston, then by its bore",
        bodies.SetReplacementsSerializer,
        refusals=("not-found", "position-unknown", *LISTING, *HEIGHTS),
        parameters=SETS,
    )
    def get(self, request: Request, number: str) -> Response:
        """The spares."""
        job = job_by_number(number)
        serial, position = text(request, "set"), text(request, "position")
        if bool(serial) == bool(position):
            raise refuse("parameter-wrong", "Either set or position is needed.", parameter="set")
        return Response(replacements_for(job, position or bore_of(job, serial), today()))


def accepted(one: Accepted) -> dict[str, Any]:
    """The record of an accepted layout."""
    return {
        "id": one.id,
        "at": one.at,
        "by": one.by,
        "doubtful": one.doubtful,
        "reason": one.reason,
        "places": [shapes.values(place) for place in one.places],
        "stands": one.stands,
        "why": list(one.why),
        "withdrawn": one.withdrawn,
        "readings": list(one.readings),
        "marks": one.document["marks"],
        "picture": one.document["picture"],
    }
