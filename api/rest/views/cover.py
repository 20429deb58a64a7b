"""`jobs/{number}/cover`: kits, packs or single parts, whichever costs least."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.parameters import described, text
from api.rest.problems import refuse
from api.rest.schema import reading
from api.rest.serializers import cover as shapes
from api.rest.views.base import View
from api.rest.views.jobs import LISTING, ON
from api.rest.views.trace import day
from inventory.domain.money import parse_money
from inventory.domain.text import shown
from kits.queries.cover import cover_of
from kits.queries.scope import job_by_number

WORTH = described(
    "worth",
    "What one left-over piece of a part is worth: its number, a colon, money; commas between, as in `A-1:2.40,A-2:0.50`. "
    "Nothing if left out.",
)


class JobCoverView(View):
    """`jobs/{number}/cover`."""

    parameters = ("on", "worth")

    @reading(
        "jobs_cover_read",
        "The cheapest way to serve what the job still lacks, by closed kits, packs and single parts of its site's shelves",
        shapes.CoverSerializer,
        refusals=("not-found", "money-unreadable", "leftover-worth-wrong", "cover-too-large", *LISTING),
        parameters=(ON, WORTH),
    )
    def get(self, request: Request, number: str) -> Response:
        """The cover now."""
        return Response(cover_of(job_by_number(number), _worth(request), day(request, "on")))


def _worth(request: Request) -> dict[str, int]:
    worth = {}
    for said in filter(None, text(request, "worth").split(",")):
        part, colon, money = said.rpartition(":")
        if not (part and colon):
            raise refuse(
                "parameter-wrong", f'worth "{shown(said)}" is no part and money as in A-1:2.40.', parameter="worth"
            )
        worth[part] = parse_money(money)
    return worth
