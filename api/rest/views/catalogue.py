"""`parts/{number}/joins`, `/photos` and `/stock-withdrawals`: what is said of a part's record as a whole."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import MOVEMENTS, act
from api.rest.serializers import catalogue as shapes
from api.rest.views.base import View, actor_of
from inventory.services.join_parts import join_parts
from inventory.services.photos import enter_photo
from inventory.services.withdraw_stock import withdraw_stock


class PartJoinsView(View):
    """`parts/{number}/joins`: the part is the record that is joined to another."""

    acts = {"POST": "catalogue"}

    @act(
        "parts_joins_create",
        "Two records are of one number: this one is joined to the one that is kept; withdraw the replacement to take it back",
        shapes.JoinInSerializer,
        shapes.JoinedSerializer,
        refusals=("not-found", "reason-missing", "records-differ", "joined-already", "replacement-loop"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Join."""
        return self.do(
            request,
            shapes.JoinInSerializer,
            lambda stamp, data: join_parts(
                actor=actor_of(request), stamp=stamp, joined=number, kept=data["kept"], reason=data["reason"]
            ),
        )


class PartStockWithdrawalsView(View):
    """`parts/{number}/stock-withdrawals`: the part is an old number that a notice withdraws."""

    acts = {"POST": "transfer"}

    @act(
        "parts_stock_withdrawals_create",
        "What stands on the shelves of a withdrawn number goes to quarantine, all at once",
        shapes.StockWithdrawInSerializer,
        shapes.StockWithdrawnSerializer,
        refusals=("not-found", "wrong-place", "not-withdrawn", "nothing-there", *MOVEMENTS),
    )
    def post(self, request: Request, number: str) -> Response:
        """Withdraw."""
        return self.do(
            request,
            shapes.StockWithdrawInSerializer,
            lambda stamp, data: withdraw_stock(
                actor=actor_of(request), stamp=stamp, part=number, place=data["place"], reason=data.get("reason", "")
            ),
        )


class PartPhotosView(View):
    """`parts/{number}/photos`."""

    acts = {"POST": "catalogue"}

    @act(
        "parts_photos_create",
        "Say where a photo of the part is kept; the newest counts",
        shapes.PhotoInSerializer,
        shapes.PhotoSerializer,
        refusals=("not-found", "nothing-given", "text-too-long"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Enter."""
        return self.do(
            request,
            shapes.PhotoInSerializer,
            lambda stamp, data: enter_photo(actor=actor_of(request), stamp=stamp, part=number, link=data["link"]),
        )
