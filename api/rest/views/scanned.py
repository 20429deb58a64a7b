"""`scans`: what was scanned."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.parameters import described, needed
from api.rest.schema import reading
from api.rest.serializers import scanned as shapes
from api.rest.views.base import View
from api.rest.views.trace import today
from kits.queries.scanned import what_is

#: What reading a label may be refused for.
LABELS = ("label-unreadable", "label-ambiguous", "check-digit-wrong")


class ScansView(View):
    """`scans`."""

    parameters = ("text",)

    @reading(
        "scans_read",
        "What a scanned label or a typed number is. It only looks; an act says itself what was scanned",
        shapes.ScannedSerializer,
        refusals=LABELS,
        parameters=(
            described(
                "text",
                "As the scanner sent it: a GS1 string, an ANSI MH10.8.2 message, or a plain number. FNC1 is the character GS (29).",
                required=True,
            ),
        ),
    )
    def get(self, request: Request) -> Response:
        """What it is."""
        return Response(what_is(needed(request, "text"), today()))
