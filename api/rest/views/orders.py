"""`purchase-orders`, what suppliers acknowledge of them, and what is closed."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.parameters import text
from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import orders as shapes
from api.rest.shapes import shape, values
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from api.rest.views.trace import ON_DAY, day, today
from inventory.queries import orders as read
from inventory.queries import supplier_record as record
from inventory.services.orders import EndIn, OrderLineIn, PromiseIn, acknowledge, close_lines, place_order
from inventory.services.run import Done, Stamp

SINCE = OpenApiParameter("since", OpenApiTypes.DATE, description="Orders placed from this day on; all if left out.")
SUPPLIER = OpenApiParameter("supplier", OpenApiTypes.STR, description="This supplier only.")


class OrderFilters(filters.StrictFilterSet):
    """Filters of purchase orders."""

    supplier = filters.text("supplier__code", "placed with this supplier")
    part = filters.text("lines__part__number", "with a line for this part", distinct=True)
    job = filters.text("lines__job", "with a line for this job", distinct=True)
    open = filters.Truth("something is still to come, or in inspection", method="is_open")

    def is_open(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Open, or all others."""
        return read.in_state(rows, value)


class OrdersView(ListView):
    """`purchase-orders`."""

    acts = {"POST": "order"}
    filterset_class = OrderFilters
    orderings = ("-pk", "pk", "number")

    def rows(self) -> QuerySet[Any]:
        """All orders; the newest come first."""
        return read.orders()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """With their lines."""
        return [values(row) for row in read.rendered_orders(rows, today())]

    @reading(
        "purchase_orders_list",
        "Purchase orders with the state of each line; the newest first",
        shape(read.OrderRow)(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of orders."""
        return self.page(request)

    @act(
        "purchase_orders_create",
        "Order from a supplier",
        shapes.OrderInSerializer,
        shapes.OrderedSerializer,
        refusals=(
            *AMOUNTS,
            "dates-turned",
            "not-found",
            "nothing-given",
            "order-known",
            "part-number-unreadable",
            "text-too-long",
            "too-many-lines",
        ),
    )
    def post(self, request: Request) -> Response:
        """Order."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            lines = [OrderLineIn(**line) for line in facts.pop("lines")]
            return place_order(actor=actor_of(request), stamp=stamp, lines=lines, **facts)

        return self.do(request, shapes.OrderInSerializer, service)


class OrderView(View):
    """`purchase-orders/{number}`."""

    parameters = ("on",)

    @reading(
        "purchase_orders_read",
        "An order with the state of each line; promises are seen on a day",
        shape(read.OrderRow),
        refusals=("not-found",),
        parameters=(ON_DAY,),
    )
    def get(self, request: Request, number: str) -> Response:
        """One order."""
        return Response(values(read.rendered_orders([read.order(number)], day(request, "on"))[0]))


class OrderAcknowledgementsView(View):
    """`purchase-orders/{number}/acknowledgements`."""

    acts = {"POST": "order"}

    @act(
        "purchase_orders_acknowledgements_create",
        "Enter the days that the supplier promises; earlier promises stay, and are counted where they passed",
        shapes.AcknowledgementInSerializer,
        shapes.AcknowledgedSerializer,
        refusals=("dates-turned", "not-found", "nothing-given"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Promise."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            lines = [PromiseIn(**line) for line in facts.pop("lines")]
            return acknowledge(actor=actor_of(request), stamp=stamp, order=number, lines=lines, **facts)

        return self.do(request, shapes.AcknowledgementInSerializer, service)


class OrderClosingsView(View):
    """`purchase-orders/{number}/closings`."""

    acts = {"POST": "order"}

    @act(
        "purchase_orders_closings_create",
        "Close what will not come of lines, with a reason; a correction of the act opens them again",
        shapes.OrderClosingInSerializer,
        shapes.OrderClosedSerializer,
        refusals=(
            *AMOUNTS,
            "dates-turned",
            "line-done",
            "more-than-outstanding",
            "not-found",
            "nothing-given",
            "reason-missing",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Close."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            lines = [EndIn(**line) for line in facts.pop("lines")]
            return close_lines(actor=actor_of(request), stamp=stamp, order=number, lines=lines, **facts)

        return self.do(request, shapes.OrderClosingInSerializer, service)


class SupplierRecordsView(View):
    """`supplier-records`."""

    parameters = ("on", "since", "supplier")

    @reading(
        "supplier_records_read",
        "What each supplier did, seen on a day: on time, short, rejected, days from order to usable stock with open lines counted as at least"
        " so long",
        shapes.SupplierRecordsSerializer,
        refusals=("not-found",),
        parameters=(ON_DAY, SINCE, SUPPLIER),
    )
    def get(self, request: Request) -> Response:
        """Of all suppliers, or of one."""
        on = day(request, "on")
        since = day(request, "since") if text(request, "since") else None
        found = record.supplier_records(on, since, text(request, "supplier"))
        return Response({"on": on, "since": since, "suppliers": values(found)})
