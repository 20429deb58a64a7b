"""`jobs/{number}/found-on-cart`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, MOVEMENTS, act
from api.rest.serializers import found_on_cart as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from kits.services.found_on_cart import issue_found


class JobFoundOnCartView(View):
    """`jobs/{number}/found-on-cart`."""

    acts = {"POST": "hold"}

    @act(
        "jobs_found_on_cart_create",
        "A thing lies on the job's cart and nobody booked it there: it is issued, what the list does not want of it as an extra",
        shapes.FoundOnCartInSerializer,
        shapes.FoundOnCartSerializer,
        refusals=(
            *ON_JOB, *LISTING, *AMOUNTS, *MOVEMENTS, "allocation-unreadable", "companion-missing", "expired", "list-empty",
            "list-not-ready", "lot-stopped", "mixed", "not-for-engine", "not-free", "not-whole", "over-limit", "substitute-not-agreed", "part-to-be-sorted",
            "reason-missing", "serial-is-one", "stopped-by-maker", "verdict-fails", "wrong-place", "wrong-rubber",
        ),
    )  # fmt: skip
    def post(self, request: Request, number: str) -> Response:
        """Issue."""
        return self.do(
            request,
            shapes.FoundOnCartInSerializer,
            lambda stamp, data: issue_found(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )
