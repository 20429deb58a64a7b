"""`jobs/{number}/gives-back`: the customer's own things, against a signature."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, MOVEMENTS, act, reading
from api.rest.serializers import gives_back as shapes
from api.rest.views.base import View, actor_of
from kits.queries.belongings import gives_back_of
from kits.queries.scope import job_by_number
from kits.services.give_back import GiveIn, give_back


class JobGivesBackView(View):
    """`jobs/{number}/gives-back`. Not everybody may read who signed."""

    acts = {"GET": "see_owner", "POST": "give_back"}

    @reading(
        "jobs_gives_back_list",
        "What went back to the customer, who signed for it and when",
        shapes.GivesBackSerializer,
        refusals=("not-allowed", "not-found"),
    )
    def get(self, request: Request, number: str) -> Response:
        """Signatures, in order."""
        return Response({"gives_back": gives_back_of(job_by_number(number))})

    @act(
        "jobs_gives_back_create",
        "Give the customer's own things back from bench, quarantine or outside, against a signature; of an ended job too",
        shapes.GivesBackInSerializer,
        shapes.GivesBackMadeSerializer,
        refusals=(
            *AMOUNTS,
            *MOVEMENTS,
            "mark-not-cleaned",
            "not-found",
            "not-signed",
            "nothing-given",
            "serial-is-one",
            "shops-own",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Give back."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            given = [GiveIn(item_id=one.pop("item"), **one) for one in data["given"]]
            return give_back(actor=actor_of(request), stamp=stamp, job=number, given=given, signed_by=data["signed_by"])

        return self.do(request, shapes.GivesBackInSerializer, service)
