"""`lots`: their lives, stops, and where all of a lot is."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django_filters import CharFilter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import act, reading
from api.rest.serializers import lots as shapes
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from inventory.domain.shelf_life import Basis
from inventory.queries import catalogue as read
from inventory.queries.search import search_lots
from inventory.services import stops
from inventory.services.extend_life import extend_life
from inventory.services.put_right import set_lot_dates
from inventory.services.run import Done, Stamp


def rendered(row: Any) -> dict[str, Any]:
    """The record of a lot."""
    return {
        "id": row.pk,
        "part": row.part.number,
        "code": row.code,
        "cure_code": row.cure_code,
        "made_on": row.made_on,
        "printed_on": row.printed_on,
        "expires_on": row.expires_on,
        "expiry_rule": row.expiry_rule,
        "supplier": row.supplier.code if row.supplier else "",
        "received_on": row.received_on,
        "stopped": bool(row.is_stopped),
    }


class LotFilters(filters.StrictFilterSet):
    """Filters of lots."""

    part = filters.text("part__number", "of this part")
    code = filters.text("code", "exactly this code")
    supplier = filters.text("supplier__code", "from this supplier")
    expires_before = filters.day("expires_on", "lt", "no longer good on this day")
    expires_from = filters.day("expires_on", "gte", "still good the day before, or on it")
    stopped = filters.Truth("stopped, itself or inside its kits", method="with_stop")
    search = CharFilter(method="near", help_text="near codes: O for zero, swapped or wrong characters, a part of it")

    def with_stop(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Stopped lots, or all others."""
        return rows.filter(is_stopped=value)

    def near(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Forgiving search, the nearest first."""
        return search_lots(rows, value)


class LotsView(ListView):
    """`lots`."""

    filterset_class = LotFilters
    nearest_by = ("search",)
    orderings = ("pk", "code", "part__number", "use_by")

    def rows(self) -> QuerySet[Any]:
        """All lots."""
        return read.by_use_by(read.lots())

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered(row) for row in rows]

    @reading(
        "lots_list",
        "Lots",
        shapes.LotSerializer(many=True),
        filtered=True,
        refusals=("part-number-unreadable",),
    )
    def get(self, request: Request) -> Response:
        """A page of lots."""
        return self.page(request)


class LotView(View):
    """`lots/{id}`."""

    @reading("lots_read", "A lot with its stops and inner lots", shapes.LotDetailSerializer, refusals=("not-found",))
    def get(self, request: Request, number: int) -> Response:
        """One lot."""
        row = read.lot(number)
        stopped = [
            {
                "id": stop.pk,
                "act": stop.act_id,
                "since": stop.act.occurred_at,
                "by": stop.act.actor.username,
                "reason": stop.reason,
                "freed_at": stop.freed.act.occurred_at if hasattr(stop, "freed") else None,
                "free_reason": stop.freed.reason if hasattr(stop, "freed") else "",
            }
            for stop in sorted(row.stops.all(), key=lambda stop: stop.pk)
        ]
        inner = [
            {"part": one.lot.part.number, "lot": one.lot.code, "lot_id": one.lot_id, "amount": one.amount}
            for one in sorted(row.inner_lots.all(), key=lambda one: one.lot.part.number)
        ]
        same = [
            {"lot": code, "lot_id": pk} for pk, code in read.spelled_alike(row.part_id, row.compare_key) if pk != row.pk
        ]
        dates = [
            {
                "act": one.act_id,
                "on": one.act.occurred_at,
                "by": one.act.actor.username,
                "reason": one.act.reason,
                "before": one.before,
                **{name: getattr(one, name) for name in shapes.DATES},
            }
            for one in read.dates_put_right(row.pk)
        ]
        more: dict[str, Any] = {"extension_years": row.extension_years, "extension": _extension(row), "stops": stopped}
        more |= {"spelled_alike": same, "dates": dates}
        return Response({**rendered(row), **more, "inner_lots": inner})


def _extension(row: Any) -> dict[str, Any] | None:
    """The one extension of a lot's life that counts."""
    found = next(iter(row.extensions.all()), None)
    if found is None:
        return None
    return {
        "act": found.act_id,
        "on": found.act.occurred_at,
        "inspector": found.act.actor.username,
        "before": found.before,
        "after": found.after,
        "sample_pieces": found.sample_pieces,
        "found": found.found,
    }


class LotStopsView(View):
    """`lots/{id}/stops`."""

    acts = {"POST": "stop"}

    @act(
        "lots_stops_create",
        "Stop a lot: nothing of it may be used, wherever it is, closed kits included",
        shapes.StopInSerializer,
        shapes.StoppedSerializer,
        refusals=("not-found", "reason-missing", "stopped-already"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Stop."""
        return self.do(
            request,
            shapes.StopInSerializer,
            lambda stamp, data: stops.stop_lot(
                actor=actor_of(request), stamp=stamp, lot_id=number, reason=data["reason"]
            ),
        )


class LotDatesView(View):
    """`lots/{id}/dates`."""

    acts = {"POST": "set_dates"}

    @act(
        "lots_dates_create",
        "Put the dates of a lot right: all that its bags say; holds that this makes impossible end, by name",
        shapes.LotDatesInSerializer,
        shapes.DatesPutRightSerializer,
        refusals=(
            "cure-date-future",
            "cure-date-unreadable",
            "dates-the-same",
            "life-rule-unreadable",
            "not-found",
            "reason-missing",
            "undated",
        ),
    )
    def post(self, request: Request, number: int) -> Response:
        """Put right."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            given = facts_of(data)
            if "basis" in given:
                given["basis"] = Basis(given["basis"])
            return set_lot_dates(actor=actor_of(request), stamp=stamp, lot_id=number, **given)

        return self.do(request, shapes.LotDatesInSerializer, service)


class LotFreesView(View):
    """`lots/{id}/frees`."""

    acts = {"POST": "free"}

    @act(
        "lots_frees_create",
        "Lift a stop of a lot; nothing is planned again",
        shapes.FreeInSerializer,
        shapes.FreedSerializer,
        refusals=("not-found", "reason-missing", "freed-already", "second-person-needed"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Free."""
        return self.do(
            request,
            shapes.FreeInSerializer,
            lambda stamp, data: stops.free_lot(
                actor=actor_of(request), stamp=stamp, lot_id=number, stop_id=data["stop"], reason=data["reason"]
            ),
        )


class LotExtensionsView(View):
    """`lots/{id}/extensions`."""

    acts = {"POST": "extend_life"}

    @act(
        "lots_extensions_create",
        "Extend the shelf life of a lot, once, after its sample was inspected",
        shapes.ExtensionInSerializer,
        shapes.ExtendedSerializer,
        refusals=(
            "extension-not-allowed",
            "extension-unsigned",
            "extension-used",
            "not-found",
            "reason-missing",
            "sample-unusable",
        ),
    )
    def post(self, request: Request, number: int) -> Response:
        """Extend."""
        return self.do(
            request,
            shapes.ExtensionInSerializer,
            lambda stamp, data: extend_life(
                actor=actor_of(request),
                stamp=stamp,
                lot_id=number,
                **{name: data[name] for name in ("sample_pieces", "passed", "found")},
            ),
        )
