"""`items` and `matched-sets`."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django_filters import CharFilter
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import MOVEMENTS, act, reading
from api.rest.serializers import items as shapes
from api.rest.serializers.lots import FreedSerializer, FreeInSerializer, StopInSerializer, StoppedSerializer
from api.rest.views import render
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from inventory.queries import catalogue as read
from inventory.queries.search import search_sets
from inventory.services import stops
from inventory.services.break_set import break_set
from inventory.services.core_value import decide_core_value
from inventory.services.put_right import relabel_set
from inventory.services.receive import SetLabel

PART = OpenApiParameter(
    "part", OpenApiTypes.STR, description="Number of the part, where several parts have the same serial."
)


def rendered(row: Any) -> dict[str, Any]:
    """The record of an item."""
    return {
        "id": row.pk,
        "part": row.part.number,
        "identity": row.identity,
        "lot": row.lot_code,
        "lot_id": row.lot_id,
        "serial": row.serial_number,
        "member": row.member,
        "tube": row.tube.number if row.tube else "",
        "from_kit": row.from_kit_id,
        "base": row.base,
        "expires_on": render.expiry(row),
        "stopped": bool(row.is_stopped),
    }


def rendered_set(row: Any) -> dict[str, Any]:
    """The record of a matched set."""
    broken = getattr(row.serial, "broken", None)
    return {
        "part": row.serial.part.number,
        "serial": row.serial.number,
        "weight_mg": row.weight_mg,
        "weighed": row.weighed,
        "bore_nm": row.bore_nm,
        "piston_nm": row.piston_nm,
        "grade": row.grade,
        "liner_mark": row.liner_mark,
        "piston_mark": row.piston_mark,
        "photo": row.photo,
        "broken": broken is not None,
        "damaged": broken.damaged if broken else "",
        "missing": broken.missing.split() if broken else [],
        "matched_again": getattr(row.serial, "match", None) is not None,
    }


class ItemFilters(filters.StrictFilterSet):
    """Filters of items."""

    part = filters.text("part__number", "of this part")
    lot = filters.text("lot__code", "of this lot")
    serial = filters.text("serial__number", "with this serial")
    tube = filters.text("tube__number", "in this opened tube")


class ItemsView(ListView):
    """`items`."""

    filterset_class = ItemFilters

    def rows(self) -> QuerySet[Any]:
        """All items."""
        return read.items()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered(row) for row in rows]

    @reading("items_list", "Items: what things are", shapes.ItemSerializer(many=True), filtered=True)
    def get(self, request: Request) -> Response:
        """A page of items."""
        return self.page(request)


class ItemView(View):
    """`items/{id}`."""

    @reading(
        "items_read",
        "An item and where it stands",
        shapes.ItemDetailSerializer,
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, number: int) -> Response:
        """One item."""
        row = read.item(number)
        stands = read.balances().filter(item=row.pk).order_by("place__code", "spot__name", "pk")
        return Response({**rendered(row), "stands": [render.standing(one) for one in stands]})


class SetFilters(filters.StrictFilterSet):
    """Filters of matched sets."""

    part = filters.text("serial__part__number", "of this part")
    serial = filters.text("serial__number", "exactly this serial")
    grade = filters.text("grade", "of this grade")
    broken = filters.Truth("broken or whole", method="is_broken")
    search = CharFilter(method="near", help_text="near serials: O for zero, swapped or wrong characters, a part of it")

    def is_broken(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Broken sets, or whole ones."""
        return rows.filter(serial__broken__isnull=not value)

    def near(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Forgiving search, the nearest first."""
        return search_sets(rows, value)


class SetsView(ListView):
    """`matched-sets`."""

    filterset_class = SetFilters
    nearest_by = ("search",)
    orderings = ("serial__number", "pk")

    def rows(self) -> QuerySet[Any]:
        """All sets."""
        return read.matched_sets()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered_set(row) for row in rows]

    @reading(
        "matched_sets_list",
        "Matched sets",
        shapes.SetSerializer(many=True),
        filtered=True,
        refusals=("part-number-unreadable",),
    )
    def get(self, request: Request) -> Response:
        """A page of sets."""
        return self.page(request)


class SetView(View):
    """`matched-sets/{serial}`."""

    parameters = ("part",)

    @reading(
        "matched_sets_read",
        "A matched set and where it, or what is left of it, stands",
        shapes.SetDetailSerializer,
        refusals=("not-found", "serial-ambiguous"),
        parameters=(PART,),
        amounts=True,
    )
    def get(self, request: Request, serial: str) -> Response:
        """One set."""
        row = read.matched_set(serial, request.query_params.get("part", ""))
        stands = read.balances().filter(item__serial=row.pk).order_by("place__code", "spot__name", "pk")
        labels = [
            {
                "act": one.act_id,
                "on": one.act.occurred_at,
                "by": one.act.actor.username,
                "reason": one.act.reason,
                "before": one.before,
                **{name: getattr(one, name) for name in shapes.LABEL},
            }
            for one in read.labels_put_right(row.pk)
        ]
        return Response({**rendered_set(row), "stands": [render.standing(one) for one in stands], "labels": labels})


class SetLabelsView(View):
    """`matched-sets/{serial}/labels`."""

    acts = {"POST": "set_dates"}

    def known_parameters(self, request: Request) -> set[str]:
        """A serial is unique within a part only."""
        return {"part"}

    @act(
        "matched_sets_labels_create",
        "Put right what the label of a set was read to say: all of it; what was on record is kept beside it",
        shapes.RelabelInSerializer,
        shapes.RelabelledSerializer,
        refusals=("dates-the-same", "not-found", "reason-missing", "serial-ambiguous", "weight-unsaid"),
        parameters=(PART,),
    )
    def post(self, request: Request, serial: str) -> Response:
        """Put right."""
        part = request.query_params.get("part", "")
        return self.do(
            request,
            shapes.RelabelInSerializer,
            lambda stamp, data: relabel_set(
                actor=actor_of(request),
                stamp=stamp,
                serial=serial,
                part=part,
                label=SetLabel(**data["set_label"]),
                reason=data["reason"],
            ),
        )


class SetBreaksView(View):
    """`matched-sets/{serial}/breaks`."""

    acts = {"POST": "break_set"}

    def known_parameters(self, request: Request) -> set[str]:
        """A serial is unique within a part only."""
        return {"part"}

    @act(
        "matched_sets_breaks_create",
        "Record that a matched set is broken, or half of it missing; it stays broken, its good members go to quarantine",
        shapes.BreakInSerializer,
        shapes.BrokenSerializer,
        refusals=(
            *MOVEMENTS,
            "member-unknown",
            "not-a-set",
            "not-found",
            "nothing-given",
            "photo-asked",
            "reason-missing",
            "serial-ambiguous",
            "set-broken",
            "wrong-place",
        ),
        parameters=(PART,),
    )
    def post(self, request: Request, serial: str) -> Response:
        """Break."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            row = read.matched_set(serial, request.query_params.get("part", ""))
            return break_set(
                actor=actor_of(request),
                stamp=stamp,
                part=row.serial.part.number,
                serial=row.serial.number,
                **facts_of(data),
            )

        return self.do(request, shapes.BreakInSerializer, service)


class SetCoreValuesView(View):
    """`matched-sets/{serial}/core-values`."""

    acts = {"POST": "core_value"}

    def known_parameters(self, request: Request) -> set[str]:
        """A serial is unique within a part only."""
        return {"part"}

    @act(
        "matched_sets_core_values_create",
        "Decide what a broken set is worth as a core; the newest decision counts",
        shapes.CoreValueInSerializer,
        shapes.CoreValueMadeSerializer,
        refusals=(
            "amount-not-positive",
            "amount-too-large",
            "not-found",
            "reason-missing",
            "serial-ambiguous",
            "set-whole",
        ),
        parameters=(PART,),
    )
    def post(self, request: Request, serial: str) -> Response:
        """Decide."""
        part = request.query_params.get("part", "")
        return self.do(
            request,
            shapes.CoreValueInSerializer,
            lambda stamp, data: decide_core_value(
                actor=actor_of(request), stamp=stamp, part=part, serial=serial, **facts_of(data)
            ),
        )


class ItemStopsView(View):
    """`items/{id}/stops`."""

    acts = {"POST": "stop"}

    @act(
        "items_stops_create",
        "Stop one item: it may not be used, wherever it is",
        StopInSerializer,
        StoppedSerializer,
        refusals=("not-found", "reason-missing", "stopped-already"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Stop."""
        return self.do(
            request,
            StopInSerializer,
            lambda stamp, data: stops.stop_item(
                actor=actor_of(request), stamp=stamp, item_id=number, reason=data["reason"]
            ),
        )


class ItemFreesView(View):
    """`items/{id}/frees`."""

    acts = {"POST": "free"}

    @act(
        "items_frees_create",
        "Lift a stop of an item; nothing is planned again",
        FreeInSerializer,
        FreedSerializer,
        refusals=("not-found", "reason-missing", "freed-already"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Free."""
        return self.do(
            request,
            FreeInSerializer,
            lambda stamp, data: stops.free_item(
                actor=actor_of(request), stamp=stamp, item_id=number, stop_id=data["stop"], reason=data["reason"]
            ),
        )
