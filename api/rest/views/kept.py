"""`kept-pieces` and `lots/{id}/kept-releases`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act, reading
from api.rest.serializers import kept as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.trace import ON_DAY, day
from inventory.services.keep_pieces import keep_pieces
from kits.queries.kept import kept_pieces
from kits.services.kept import release_kept


class KeptPiecesView(View):
    """`kept-pieces`."""

    acts = {"POST": "keep"}
    parameters = ("on",)

    @reading(
        "kept_pieces_read",
        "Pieces of lots that are kept back: on hand and counted, not free, until the last term of an engine with that lot has ended",
        shapes.KeptPieceSerializer(many=True),
        parameters=(ON_DAY,),
    )
    def get(self, request: Request) -> Response:
        """By part and lot."""
        return Response(kept_pieces(day(request, "on")))

    @act(
        "kept_pieces_create",
        "Keep one piece of each lot that by the shop's settings should keep one and has none, where one is free",
        shapes.KeepPiecesInSerializer,
        shapes.KeptNowSerializer,
    )
    def post(self, request: Request) -> Response:
        """Keep."""
        return self.do(
            request,
            shapes.KeepPiecesInSerializer,
            lambda stamp, data: keep_pieces(actor=actor_of(request), stamp=stamp),
        )


class LotKeptReleasesView(View):
    """`lots/{id}/kept-releases`."""

    acts = {"POST": "release_kept"}

    @act(
        "lots_kept_releases_create",
        "Release the kept piece of a lot; refused with the day until the last term of an engine with that lot has ended",
        shapes.KeptReleaseInSerializer,
        shapes.KeptReleasedSerializer,
        refusals=("kept", "not-found", "not-kept", "reason-missing"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Release."""
        return self.do(
            request,
            shapes.KeptReleaseInSerializer,
            lambda stamp, data: release_kept(
                actor=actor_of(request), stamp=stamp, lot_id=number, reason=data["reason"]
            ),
        )
