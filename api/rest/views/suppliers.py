"""`suppliers` and what they sell."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import act, reading
from api.rest.serializers import suppliers as shapes
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from inventory.queries import catalogue as read
from inventory.services import catalogue


class SupplierFilters(filters.StrictFilterSet):
    """Filters of suppliers."""

    part = filters.text("supplierpart__part__number", "who sells this part")


def _supplier(row: Any) -> dict[str, Any]:
    """The record of a supplier."""
    return {"code": row.code, "name": row.name, "facts": row.facts, "send_back_days": row.send_back_days}


class SuppliersView(ListView):
    """`suppliers`."""

    acts = {"POST": "catalogue"}
    filterset_class = SupplierFilters
    orderings = ("code", "name")

    def rows(self) -> QuerySet[Any]:
        """All suppliers."""
        return read.suppliers()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [_supplier(row) for row in rows]

    @reading("suppliers_list", "Suppliers", shapes.SupplierSerializer(many=True), filtered=True)
    def get(self, request: Request) -> Response:
        """A page of suppliers."""
        return self.page(request)

    @act(
        "suppliers_create",
        "Enter a supplier",
        shapes.SupplierInSerializer,
        shapes.SupplierCreatedSerializer,
        refusals=("supplier-known", "text-too-long", "nothing-given", "part-unusable"),
    )
    def post(self, request: Request) -> Response:
        """A new supplier."""
        return self.do(
            request,
            shapes.SupplierInSerializer,
            lambda stamp, data: catalogue.create_supplier(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class SupplierView(View):
    """`suppliers/{code}`."""

    @reading(
        "suppliers_read",
        "A supplier with what it sells",
        shapes.SupplierDetailSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, code: str) -> Response:
        """One supplier."""
        row = read.supplier(code)
        sells = [
            {
                "part": sold.part.number,
                "number": sold.number,
                "pack": sold.pack,
                "least_order": sold.least_order,
                "price_coins": sold.price_coins,
                "lead_days": sold.lead_days,
                "send_back_days": sold.send_back_days,
                "express_days": sold.express_days,
                "express_coins": sold.express_coins,
            }
            for sold in row.supplierpart_set.all()
        ]
        return Response({**_supplier(row), "sells": sells})


class SupplierPartsView(View):
    """`suppliers/{code}/parts`."""

    acts = {"POST": "catalogue"}

    @act(
        "suppliers_parts_create",
        "Record that the supplier sells a part, or on which new terms",
        shapes.SupplierPartInSerializer,
        shapes.SupplierPartSetSerializer,
        refusals=("not-found", "part-unusable", "text-too-long"),
    )
    def post(self, request: Request, code: str) -> Response:
        """The terms from now on."""
        return self.do(
            request,
            shapes.SupplierPartInSerializer,
            lambda stamp, data: catalogue.sell_part(
                actor=actor_of(request), stamp=stamp, supplier=code, **facts_of(data)
            ),
        )
