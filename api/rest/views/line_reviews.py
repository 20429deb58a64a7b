"""`line-reviews` of the shop, and `procedures/{code}/line-reviews`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act, reading
from api.rest.serializers import line_reviews as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.parts import facts_of
from kits.queries import line_reviews as read
from kits.queries.catalogue import procedure
from kits.services.line_reviews import close_review


class LineReviewsView(View):
    """`line-reviews`."""

    @reading(
        "line_reviews_read",
        'Parts lines of all procedures for which extras were asked as "wrong on list" three times or more',
        shapes.LineToReviewSerializer(many=True),
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """All that are up for review."""
        return Response(read.to_review())


class ProcedureLineReviewsView(View):
    """`procedures/{code}/line-reviews`."""

    acts = {"POST": "procedure"}

    @reading(
        "procedures_line_reviews_read",
        "Parts lines of a procedure that are up for review, with the jobs, days and people behind them; and earlier reviews",
        shapes.LineReviewsSerializer,
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, code: str) -> Response:
        """Of this procedure."""
        row = procedure(code)
        closed = [read.closed_record(one) for one in read.closed_reviews(row)]
        return Response({"to_review": read.to_review(row), "closed": closed})

    @act(
        "procedures_line_reviews_create",
        "A person's word on a line that is up for review: mended in a newer revision, or why it is right; counting begins anew",
        shapes.ReviewInSerializer,
        shapes.ReviewClosedSerializer,
        refusals=("not-found", "not-mended", "part-number-unreadable", "reason-missing", "review-not-open"),
    )
    def post(self, request: Request, code: str) -> Response:
        """Close."""
        return self.do(
            request,
            shapes.ReviewInSerializer,
            lambda stamp, data: close_review(actor=actor_of(request), stamp=stamp, procedure=code, **facts_of(data)),
        )
