"""`places/{code}/storage`, `places/{code}/temperatures`, `temperatures/{id}/withdrawals`, `lots/{id}/storage`, `storage-rules`."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import storage as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import View, actor_of
from api.rest.views.parts import facts_of
from inventory.domain.storage import RULES, SET_ASIDE
from inventory.queries.storage import lot_storage, storage_of, temperatures_of
from inventory.services.run import Done, Stamp
from inventory.services.storage import TemperatureIn, log_temperatures, offer_storage, withdraw_temperature


class StorageRulesView(View):
    """`storage-rules`."""

    @reading("storage_rules_list", "How each kind is stored; a count asks for it", shapes.StorageRulesSerializer)
    def get(self, request: Request) -> Response:
        """All of them."""
        rules = [{"kind": kind, "rule": rule, "set_aside": kind in SET_ASIDE} for kind, rule in sorted(RULES.items())]
        return Response({"rules": rules})


class PlaceStorageView(View):
    """`places/{code}/storage`."""

    acts = {"POST": "storage"}

    @reading(
        "places_storage_read",
        "What a place and its spots were said to offer",
        shapes.PlaceStorageSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, code: str) -> Response:
        """All words on it."""
        return Response(storage_of(code))

    @act(
        "places_storage_create",
        "Say which storage classes a place or a spot is good for, and between which temperatures it stays",
        shapes.OfferInSerializer,
        shapes.OfferMadeSerializer,
        refusals=("not-found", "nothing-given", "storage-unusable", "wrong-place"),
    )
    def post(self, request: Request, code: str) -> Response:
        """A new word."""
        return self.do(
            request,
            shapes.OfferInSerializer,
            lambda stamp, data: offer_storage(actor=actor_of(request), stamp=stamp, place=code, **facts_of(data)),
        )


class PlaceTemperaturesView(View):
    """`places/{code}/temperatures`."""

    acts = {"POST": "storage"}

    @reading(
        "places_temperatures_list",
        "The log of a place's temperatures, withdrawn readings too",
        shapes.TemperatureLogSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, code: str) -> Response:
        """The log."""
        return Response(temperatures_of(code))

    @act(
        "places_temperatures_create",
        "Add readings to the log of a place; what is outside, and a gap, is noted on every lot that lay there",
        shapes.TemperaturesInSerializer,
        shapes.TemperaturesMadeSerializer,
        refusals=(*AMOUNTS, "not-found", "nothing-given", "storage-unusable", "wrong-place"),
    )
    def post(self, request: Request, code: str) -> Response:
        """Add."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            readings = [TemperatureIn(**one) for one in data["readings"]]
            return log_temperatures(actor=actor_of(request), stamp=stamp, place=code, readings=readings)

        return self.do(request, shapes.TemperaturesInSerializer, service)


class TemperatureWithdrawalsView(View):
    """`temperatures/{id}/withdrawals`."""

    acts = {"POST": "storage"}

    @act(
        "temperatures_withdraw",
        "A reading of a log was wrong: it stays with the reason, and never counted",
        ReasonSerializer,
        shapes.TemperatureWithdrawnSerializer,
        refusals=("not-found", "reason-missing", "withdrawn-already"),
    )
    def post(self, request: Request, one: int) -> Response:
        """Withdraw."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: withdraw_temperature(
                actor=actor_of(request), stamp=stamp, reading=one, reason=data["reason"]
            ),
        )


class LotStorageView(View):
    """`lots/{id}/storage`."""

    @reading(
        "lots_storage_read",
        "How a lot is stored and was: notes by the logs of the places where it lay, words, what counts found",
        shapes.LotStorageSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: int) -> Response:
        """One lot."""
        return Response(lot_storage(number, timezone.now()))
