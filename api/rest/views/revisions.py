"""`jobs/{number}/revisions`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act, reading
from api.rest.serializers import revisions as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON, ON_JOB
from api.rest.views.trace import day
from kits.queries.job_list import job_list
from kits.queries.revisions import newer_document, words_of
from kits.queries.scope import job_by_number
from kits.services.revisions import RevisionIn, decide_revisions


class JobRevisionsView(View):
    """`jobs/{number}/revisions`."""

    acts = {"POST": "revise_job"}
    parameters = ("on",)

    @reading(
        "jobs_revisions_read",
        "Newer revisions than the job works by, each with what it would change on this job's list; and what was said to earlier ones",
        shapes.JobRevisionsSerializer,
        refusals=("not-found", *LISTING),
        parameters=(ON,),
    )
    def get(self, request: Request, number: str) -> Response:
        """Of this job."""
        row = job_by_number(number)
        newer = newer_document(job_list(row, day(request, "on"), stock=False))
        return Response({"job": row.number, "newer": newer, "words": words_of(row)})

    @act(
        "jobs_revisions_create",
        "Take newer revisions over to the job, or keep the old ones: the list is made anew, what is left over is named",
        shapes.RevisionsInSerializer,
        shapes.RevisionsDecidedSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            "choice-unknown",
            "finding-place-wrong",
            "finding-unknown",
            "nothing-given",
            "procedure-unusable",
            "reason-missing",
            "revision-not-asked",
            "stopped-by-maker",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Decide."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            return decide_revisions(
                actor=actor_of(request),
                stamp=stamp,
                job=number,
                revisions=[RevisionIn(**one) for one in data["revisions"]],
                take=data["take"],
                reason=data["reason"],
            )

        return self.do(request, shapes.RevisionsInSerializer, service)
