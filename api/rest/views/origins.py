"""`jobs/{number}/lost-positions` and `/origin-words`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act
from api.rest.serializers import origins as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import ON_JOB
from kits.services.origins import enter_origin_word, lose_positions


class JobLostPositionsView(View):
    """`jobs/{number}/lost-positions`."""

    acts = {"POST": "remove"}

    @act(
        "jobs_lost_positions_create",
        "Record that nobody knows any more where removed parts came from; it is never taken back",
        shapes.LostPositionsInSerializer,
        shapes.LostPositionsMadeSerializer,
        refusals=(*ON_JOB, "nothing-given", "position-lost-already", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.LostPositionsInSerializer,
            lambda stamp, data: lose_positions(
                actor=actor_of(request), stamp=stamp, job=number, items=data["items"], reason=data["reason"]
            ),
        )


class JobOriginWordsView(View):
    """`jobs/{number}/origin-words`."""

    acts = {"POST": "origin"}

    @act(
        "jobs_origin_words_create",
        "Enter the maker's word that a part of unknown place may go into a position",
        shapes.OriginWordInSerializer,
        shapes.OriginWordMadeSerializer,
        refusals=(*ON_JOB, "position-lost", "position-unknown", "reason-missing", "wrong-place-of-origin"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Enter."""
        return self.do(
            request,
            shapes.OriginWordInSerializer,
            lambda stamp, data: enter_origin_word(
                actor=actor_of(request),
                stamp=stamp,
                job=number,
                item=data["item"],
                position=data["position"],
                word=data["word"],
            ),
        )
