"""`set-asides`, `rejects`, `supplier-returns`, their credits, and what is awaited."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import AMOUNTS, MOVEMENTS, act, reading
from api.rest.serializers import claims as shapes
from api.rest.shapes import shape, values
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from api.rest.views.trace import ON_DAY, day, today
from inventory.domain.receiving import Why
from inventory.queries import deliveries as read
from inventory.services.claims import ReturnLine, enter_credit, reject, return_to_supplier
from inventory.services.run import Done, Stamp

_CARRIED = (
    *AMOUNTS,
    *MOVEMENTS,
    "not-found",
    "nothing-given",
    "serial-is-one",
    "too-many-lines",
    "wrong-place",
)


class SetAsideFilters(filters.StrictFilterSet):
    """Filters of lines that were set aside."""

    waiting = filters.Truth("something of it waits for an answer", method="is_waiting")
    why = filters.choice("aside__why", [one.value for one in Why], "set aside for this")
    supplier = filters.text("receipt__supplier__code", "from this supplier")
    part = filters.text("item__part__number", "of this part")
    order = filters.text("order_line__order__number", "delivered for this order")

    def is_waiting(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """In inspection, or answered."""
        return read.asides_waiting(rows, value)


class SetAsidesView(ListView):
    """`set-asides`."""

    filterset_class = SetAsideFilters
    orderings = ("pk", "-pk")

    def rows(self) -> QuerySet[Any]:
        """All of them; the oldest come first."""
        return read.asides()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [values(row) for row in read.rendered_asides(rows)]

    @reading(
        "set_asides_list",
        "Lines of deliveries that were not accepted as they came, why, and what of each still waits; the oldest first",
        shape(read.AsideRow)(many=True),
        filtered=True,
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """A page of them."""
        return self.page(request)


class RejectFilters(filters.StrictFilterSet):
    """Filters of claims."""

    supplier = filters.text("line__receipt__supplier__code", "on this supplier")
    part = filters.text("line__item__part__number", "about this part")
    order = filters.text("line__order_line__order__number", "delivered for this order")


class RejectsView(ListView):
    """`rejects`."""

    acts = {"POST": "receive"}
    filterset_class = RejectFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All claims; the newest come first."""
        return read.rejects()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [values(row) for row in read.rendered_rejects(rows)]

    @reading(
        "rejects_list",
        "What was rejected of deliveries: claims on suppliers; the newest first",
        shape(read.RejectRow)(many=True),
        filtered=True,
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """A page of claims."""
        return self.page(request)

    @act(
        "rejects_create",
        "Reject so much of a delivered line, with reason and photos",
        shapes.RejectInSerializer,
        shapes.RejectedSerializer,
        refusals=(*_CARRIED, "dates-turned", "more-than-delivered", "quarantine-needed", "reason-missing"),
    )
    def post(self, request: Request) -> Response:
        """Reject."""
        return self.do(
            request,
            shapes.RejectInSerializer,
            lambda stamp, data: reject(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class ReturnFilters(filters.StrictFilterSet):
    """Filters of what went back."""

    supplier = filters.text("sent__supplier__code", "to this supplier")
    note = filters.text("sent__note", "with this note")
    part = filters.text("item__part__number", "of this part")


class SupplierReturnsView(ListView):
    """`supplier-returns`."""

    acts = {"POST": "receive"}
    filterset_class = ReturnFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All lines that went back; the newest come first."""
        return read.return_lines()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [values(row) for row in read.rendered_returns(rows, today())]

    @reading(
        "supplier_returns_list",
        "What went back to suppliers, and what of each line is credited, refused, awaited; the newest first",
        shape(read.ReturnRow)(many=True),
        filtered=True,
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """A page of lines."""
        return self.page(request)

    @act(
        "supplier_returns_create",
        "Send goods back to a supplier with a note, all of them or none",
        shapes.SupplierReturnInSerializer,
        shapes.SupplierReturnedSerializer,
        refusals=(
            *_CARRIED,
            "claim-unnamed",
            "dates-turned",
            "more-than-outstanding",
            "old-unit-known",
            "part-unusable",
            "wrong-part",
            "wrong-supplier",
        ),
    )
    def post(self, request: Request) -> Response:
        """Send back."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            lines = [ReturnLine(item_id=line.pop("item"), **line) for line in facts.pop("lines")]
            return return_to_supplier(actor=actor_of(request), stamp=stamp, lines=lines, **facts)

        return self.do(request, shapes.SupplierReturnInSerializer, service)


class SupplierReturnCreditsView(View):
    """`supplier-returns/{line}/credits`."""

    acts = {"POST": "credit"}

    @act(
        "supplier_returns_credits_create",
        "Enter what the supplier credited of a returned line, or refused",
        shapes.CreditInSerializer,
        shapes.CreditedSerializer,
        refusals=("amount-not-positive", "dates-turned", "more-than-outstanding", "not-found", "reason-missing"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Settle."""
        return self.do(
            request,
            shapes.CreditInSerializer,
            lambda stamp, data: enter_credit(actor=actor_of(request), stamp=stamp, line=number, **facts_of(data)),
        )


class CreditsAwaitedView(View):
    """`credits-awaited`."""

    parameters = ("on",)

    @reading(
        "credits_awaited_read",
        "Credits that are awaited from suppliers on a day, with their age; the oldest first",
        shapes.AwaitedSerializer,
        amounts=True,
        parameters=(ON_DAY,),
    )
    def get(self, request: Request) -> Response:
        """On a day."""
        on = day(request, "on")
        found = read.credits_awaited(on)
        total = sum(one.awaited_coins for one in found)
        return Response({"on": on, "awaited": values(found), "awaited_coins": total})
