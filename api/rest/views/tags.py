"""`jobs/{number}/tags`: tags and paint marks of removed parts, as JSON or as a page to print."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import reading
from api.rest.serializers.tags import TagsSerializer
from api.rest.views.printed import FORMAT, PrintedView
from kits.queries.scope import job_by_number
from kits.queries.tags import tags_of


class JobTagsView(PrintedView):
    """`jobs/{number}/tags`."""

    page_template = "tags.html"

    @reading(
        "jobs_tags_read",
        "Tags for what came out of the engine to the bench, and the paint mark of each; parts whose tags would read the same get none",
        TagsSerializer,
        refusals=("not-found",),
        parameters=(FORMAT,),
        printed=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """The tags."""
        return Response(tags_of(job_by_number(number)))
