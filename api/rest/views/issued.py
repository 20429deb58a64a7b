"""`jobs/{number}/issued`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import reading
from api.rest.serializers.issued import IssuedSerializer
from api.rest.views.base import View
from kits.queries.issued import issued_to
from kits.queries.scope import job_by_number


class JobIssuedView(View):
    """`jobs/{number}/issued`."""

    @reading(
        "jobs_issued_read",
        "Where everything went that the job was issued: issued = fitted + returned + scrapped + still here, every other way named",
        IssuedSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """By item."""
        items = issued_to(job_by_number(number))
        return Response({"job": number, "items": items, "adds_up": all(one["adds_up"] for one in items)})
