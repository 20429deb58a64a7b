"""`jobs/{number}/used-again`."""

from __future__ import annotations

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import reading
from api.rest.serializers.used_again import UsedAgainSerializer
from api.rest.views.base import View
from api.rest.views.jobs import ON
from api.rest.views.trace import day
from kits.queries.scope import job_by_number
from kits.queries.used_again import answers_for

POSITION = OpenApiParameter("position", OpenApiTypes.STR, description="One use position; all of the list if left out.")


class JobUsedAgainView(View):
    """`jobs/{number}/used-again`."""

    parameters = ("on", "position")

    @reading(
        "jobs_used_again_list",
        "Which parts of the list may go in again after they were closed in once, with the reason",
        UsedAgainSerializer(many=True),
        refusals=("not-found",),
        parameters=(ON, POSITION),
    )
    def get(self, request: Request, number: str) -> Response:
        """By position and make."""
        return Response(
            answers_for(job_by_number(number), day(request, "on"), request.query_params.get("position", ""))
        )
