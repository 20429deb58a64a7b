"""`sites`, `places`, what stands in them, and `balances` over all of them."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import act, reading
from api.rest.serializers import places as shapes
from api.rest.serializers.common import StandingSerializer
from api.rest.views import render
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from inventory.domain.places import BOOKS_ONLY, PlaceKind
from inventory.queries import catalogue as read
from inventory.services.set_up import PlaceIn, add_places, add_site

_KINDS = [kind.value for kind in PlaceKind if kind not in BOOKS_ONLY]


def rendered(row: Any) -> dict[str, Any]:
    """The record of a place."""
    return {
        "code": row.code,
        "name": row.name,
        "kind": row.kind,
        "site": row.site.code if row.site else "",
        "walk_order": row.walk_order,
    }


class SitesView(ListView):
    """`sites`."""

    acts = {"POST": "catalogue"}
    orderings = ("code", "name")

    def rows(self) -> QuerySet[Any]:
        """All sites."""
        return read.sites()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [{"code": row.code, "name": row.name} for row in rows]

    @reading("sites_list", "Sites", shapes.SiteSerializer(many=True))
    def get(self, request: Request) -> Response:
        """A page of sites."""
        return self.page(request)

    @act(
        "sites_create",
        "Enter a site; warnings name sites that read alike",
        shapes.SiteInSerializer,
        shapes.SiteMadeSerializer,
        refusals=("nothing-given", "site-exists"),
    )
    def post(self, request: Request) -> Response:
        """A new site."""
        return self.do(
            request,
            shapes.SiteInSerializer,
            lambda stamp, data: add_site(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class PlaceFilters(filters.StrictFilterSet):
    """Filters of places."""

    kind = filters.choice("kind", _KINDS, "of this kind")
    site = filters.text("site__code", "at this site")


class PlacesView(ListView):
    """`places`."""

    acts = {"POST": "catalogue"}
    filterset_class = PlaceFilters
    orderings = ("code", "walk_order")

    def rows(self) -> QuerySet[Any]:
        """All real places."""
        return read.places()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered(row) for row in rows]

    @reading("places_list", "Places", shapes.PlaceSerializer(many=True), filtered=True)
    def get(self, request: Request) -> Response:
        """A page of places."""
        return self.page(request)

    @act(
        "places_create",
        "Make shelves, quarantine and other places, all of them or none; warnings name places that read alike",
        shapes.PlacesInSerializer,
        shapes.PlacesMadeSerializer,
        refusals=("not-found", "nothing-given", "place-exists", "wrong-place"),
    )
    def post(self, request: Request) -> Response:
        """New places."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            places = [PlaceIn(**one) for one in data["places"]]
            return add_places(actor=actor_of(request), stamp=stamp, places=places)

        return self.do(request, shapes.PlacesInSerializer, service)


class PlaceView(View):
    """`places/{code}`."""

    @reading("places_read", "A place", shapes.PlaceSerializer, refusals=("not-found",))
    def get(self, request: Request, code: str) -> Response:
        """One place."""
        return Response(rendered(read.place(code)))


class _Standings(ListView):
    """Lists of what stands where."""

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records in the unit asked for."""
        return [render.standing(row) for row in rows]


class PlaceContentsView(_Standings):
    """`places/{code}/contents`."""

    def rows(self) -> QuerySet[Any]:
        """What stands there."""
        code = self.kwargs.get("code")
        rows = read.balances()
        return rows if code is None else rows.filter(place=read.place(code))

    @reading(
        "places_contents_list",
        "What stands in a place",
        StandingSerializer(many=True),
        refusals=("not-found",),
        amounts=True,
    )
    def get(self, request: Request, code: str) -> Response:
        """A page of it."""
        return self.page(request)


class BalanceFilters(filters.StrictFilterSet):
    """Filters of balances."""

    part = filters.text("part__number", "of this part")
    lot = filters.text("item__lot__code", "of this lot")
    serial = filters.text("item__serial__number", "with this serial")
    place = filters.text("place__code", "in this place")
    place_kind = filters.choice("place__kind", _KINDS, "in places of this kind")
    site = filters.text("place__site__code", "at this site")
    expires_before = filters.day("item__lot__expires_on", "lt", "of a lot no longer good on this day")
    stopped = filters.Truth("stopped, itself or its lot", method="with_stop")
    held = filters.Truth("some of it held for a job", method="with_hold")

    def with_stop(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """What is stopped, or all else."""
        return rows.filter(is_stopped=value)

    def with_hold(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """What is promised, or all else."""
        return rows.filter(held__gt=0) if value else rows.filter(held=0)


class BalancesView(_Standings):
    """`balances`."""

    filterset_class = BalanceFilters

    def rows(self) -> QuerySet[Any]:
        """All that stands in real places."""
        return read.balances()

    @reading(
        "balances_list",
        "What stands where",
        StandingSerializer(many=True),
        filtered=True,
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """A page of it."""
        return self.page(request)
