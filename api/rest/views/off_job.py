"""`counter-sales`, `counter-sale-lines/{id}/returns`, `workshop-uses`, `demand` and `demand-marks`."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any, ClassVar

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.fields import ActSerializer
from api.rest.parameters import text
from api.rest.problems import refuse
from api.rest.schema import AMOUNTS, MOVEMENTS, act, reading
from api.rest.serializers import off_job as shapes
from api.rest.shapes import shape, values
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.moves import by_item
from api.rest.views.parts import facts_of
from api.rest.views.trace import day, today
from inventory.domain.off_job import What
from inventory.queries import off_job as read
from inventory.queries.catalogue import part as part_by_number
from inventory.services.demand_marks import mark_demand
from inventory.services.off_job import LeavingLine, sell_at_counter, take_back_sold, use_in_workshop
from inventory.services.run import Done, Stamp

_LEAVING = (
    *AMOUNTS,
    *MOVEMENTS,
    "half-a-set",
    "lot-unknown",
    "not-found",
    "nothing-given",
    "old-unit-known",
    "pack-not-whole",
    "part-to-be-sorted",
    "reason-missing",
    "safety-sheet-missing",
    "serial-is-one",
    "stopped",
    "too-many-lines",
    "wrong-place",
)
SINCE = OpenApiParameter("since", OpenApiTypes.DATE, description="From this day on; a year before `until` if left out.")
UNTIL = OpenApiParameter("until", OpenApiTypes.DATE, description="Up to and with this day; today if left out.")
PART = OpenApiParameter("part", OpenApiTypes.STR, description="This part only.")


class LeftFilters(filters.StrictFilterSet):
    """Filters of what left beside jobs."""

    part = filters.text("item__part__number", "of this part")
    lot = filters.text("item__lot__code", "of this lot")
    buyer = filters.number("off_job__buyer", "sold to the owner with this number")
    demand = filters.Truth("that count as demand", method="counts")

    def counts(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Counted as demand, or not."""
        return rows.filter(off_job__demand=value)


class LeftView(ListView):
    """What left beside jobs, line by line."""

    filterset_class = LeftFilters
    orderings = ("-pk", "pk")
    what: ClassVar[What]

    def rows(self) -> QuerySet[Any]:
        """Lines; the newest come first."""
        return read.left(self.what)

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [values(row) for row in read.rendered_left(rows)]

    def leave(self, request: Request, shape_in: type[ActSerializer], leaves: Callable[..., Done]) -> Response:
        """The lines that are said leave their shelves, by that service."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            lines = [LeavingLine(**by_item(line)) for line in facts.pop("lines")]
            return leaves(actor=actor_of(request), stamp=stamp, lines=lines, **facts)

        return self.do(request, shape_in, service)


class CounterSalesView(LeftView):
    """`counter-sales`."""

    acts = {"POST": "sell"}
    what = What.COUNTER

    @reading(
        "counter_sales_list",
        "What was sold at the counter, line by line, with what came back; the newest first",
        shape(read.LeftRow)(many=True),
        filtered=True,
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """A page of sold lines."""
        return self.page(request)

    @act(
        "counter_sales_create",
        "Sell at the counter, off the shelves; what is held, stopped, past its day, opened or half a set is refused",
        shapes.CounterSaleInSerializer,
        shapes.LeftSerializer,
        refusals=(*_LEAVING, "expired", "part-unusable"),
    )
    def post(self, request: Request) -> Response:
        """Sell."""

        return self.leave(request, shapes.CounterSaleInSerializer, sell_at_counter)


class SoldReturnsView(View):
    """`counter-sale-lines/{id}/returns`."""

    acts = {"POST": "sell"}

    @act(
        "counter_sale_lines_returns_create",
        "What was sold comes back: to quarantine, until a second person looked at it and releases it",
        shapes.BroughtBackInSerializer,
        shapes.BroughtBackSerializer,
        refusals=(
            *AMOUNTS,
            *MOVEMENTS,
            "dates-turned",
            "more-than-outstanding",
            "not-found",
            "reason-missing",
            "serial-is-one",
            "set-broken",
            "wrong-place",
        ),
    )
    def post(self, request: Request, line: int) -> Response:
        """Take back."""
        return self.do(
            request,
            shapes.BroughtBackInSerializer,
            lambda stamp, data: take_back_sold(actor=actor_of(request), stamp=stamp, line=line, **facts_of(data)),
        )


class WorkshopUsesView(LeftView):
    """`workshop-uses`."""

    acts = {"POST": "use_here"}
    what = What.WORKSHOP

    @reading(
        "workshop_uses_list",
        "What was used up in the workshop, line by line; the newest first",
        shape(read.LeftRow)(many=True),
        filtered=True,
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """A page of used lines."""
        return self.page(request)

    @act(
        "workshop_uses_create",
        "Use up in the workshop, for no job: an expense",
        shapes.WorkshopUseInSerializer,
        shapes.LeftSerializer,
        refusals=(*_LEAVING, "safety-sheet-unread"),
    )
    def post(self, request: Request) -> Response:
        """Use up."""

        return self.leave(request, shapes.WorkshopUseInSerializer, use_in_workshop)


class DemandView(View):
    """`demand`."""

    parameters = ("part", "since", "until")

    @reading(
        "demand_read",
        "The history of demand by part and month: issued to jobs less what they brought back, and what was sold, used or bought and counts;"
        " with the days on which none was there, and the months that a person marked as exceptional",
        shapes.DemandSerializer,
        refusals=("dates-turned", "not-found"),
        parameters=(PART, SINCE, UNTIL),
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """Of all parts, or of one."""
        until = day(request, "until")
        since = day(request, "since") if text(request, "since") else until - timedelta(days=read.A_YEAR)
        if since > until:
            raise refuse("dates-turned", f"{since} lies after {until}.", since=str(since), until=str(until))
        number = text(request, "part")
        # Of days that are still to come nobody knows what is there.
        rows = read.demand(since, min(until, today()), part_by_number(number) if number else None)
        return Response({"since": since, "until": until, "rows": values(rows)})


class DemandMarksView(View):
    """`demand-marks`."""

    acts = {"POST": "mark_demand"}

    @act(
        "demand_marks_create",
        "Mark a month of a part's demand as exceptional, or take that back; `demand` shows every such word",
        shapes.DemandMarkInSerializer,
        shapes.DemandMarkedSerializer,
        refusals=("from-the-future", "month-marked-so", "not-found", "reason-missing"),
    )
    def post(self, request: Request) -> Response:
        """Mark, or take back."""
        return self.do(
            request,
            shapes.DemandMarkInSerializer,
            lambda stamp, data: mark_demand(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )
