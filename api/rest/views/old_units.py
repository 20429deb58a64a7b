"""`old-units`, their answers and returns; `deposits`, their entries, what is outstanding and what is at risk."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.parameters import text, whole
from api.rest.schema import MOVEMENTS, act, reading
from api.rest.serializers import old_units as shapes
from api.rest.shapes import shape, values
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from api.rest.views.trace import ON_DAY, day
from inventory.domain.old_units import Grade, Side
from inventory.queries import old_units as read
from inventory.services import deposits, old_units

DAYS = OpenApiParameter(
    "days", OpenApiTypes.INT, description="Limits that come within so many days count too; 0 if left out."
)
SUPPLIER = OpenApiParameter("supplier", OpenApiTypes.STR, description="At this supplier; at all if left out.")
TYING = ("deposit-tied", "not-found", "nothing-given", "old-unit-tagged", "wrong-part")


class OldUnitFilters(filters.StrictFilterSet):
    """Filters of old units."""

    open = filters.Truth("whose it is, nobody has said yet", method="is_open")
    state = filters.choice("", list(read.STATES), "here, sent back, or missing", method="in_state")
    job = filters.text("", "tagged to this job; without a tag: taken in for it", method="of_job")
    tag = filters.text("tags__tag", "wears, or wore, this tag")
    part = filters.text("item__part__number", "of this part")
    supplier = filters.text("supplier__code", "goes to this supplier")
    grade = filters.choice("grade", [one.value for one in Grade], "in this condition")
    late_on = filters.day("", "exact", "its limit lies before this day, and it was not sent back", method="is_late")

    def is_open(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Without a tag, or with one."""
        return rows.filter(is_tagged=not value)

    def in_state(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """As it stands now."""
        return read.in_state(rows, value)

    def of_job(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """By its newest tag."""
        return read.of_job(rows, value)

    def is_late(self, rows: QuerySet[Any], name: str, value: date) -> QuerySet[Any]:
        """Past its limit."""
        return rows.filter(send_back_by__lt=value, is_sent=False)


class OldUnitsView(ListView):
    """`old-units`."""

    acts = {"POST": "old_unit"}
    filterset_class = OldUnitFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All that count; the newest come first."""
        return read.old_units()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [values(row) for row in read.rendered_units(rows)]

    @reading(
        "old_units_list",
        "Old units, where each is and whose; the newest first",
        shape(read.UnitRow)(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of old units."""
        return self.page(request)

    @act(
        "old_units_create",
        "Take in an old unit, with its tag and job, or, without, to be answered",
        shapes.OldUnitInSerializer,
        shapes.OldUnitMadeSerializer,
        refusals=(
            *MOVEMENTS,
            *TYING,
            "old-unit-known",
            "part-number-unreadable",
            "part-unusable",
            "serial-not-kept",
            "wrong-place",
        ),
    )
    def post(self, request: Request) -> Response:
        """Take in."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = {("item_id" if name == "item" else name): value for name, value in facts_of(data).items()}
            return old_units.record_old_unit(actor=actor_of(request), stamp=stamp, **facts)

        return self.do(request, shapes.OldUnitInSerializer, service)


class OldUnitAnswersView(View):
    """`old-units/{id}/answers`."""

    acts = {"POST": "old_unit"}

    @act(
        "old_units_answers_create",
        "Say whose an old unit is, by tag and job",
        shapes.OldUnitAnswerInSerializer,
        shapes.OldUnitAnsweredSerializer,
        refusals=(*TYING, "reason-missing"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Answer."""
        return self.do(
            request,
            shapes.OldUnitAnswerInSerializer,
            lambda stamp, data: old_units.answer_old_unit(
                actor=actor_of(request), stamp=stamp, unit=number, **facts_of(data)
            ),
        )


class OldUnitReturnsView(View):
    """`old-unit-returns`."""

    acts = {"POST": "old_unit"}

    @act(
        "old_unit_returns_create",
        "Send old units back to a supplier, all of them or none",
        shapes.OldUnitReturnInSerializer,
        shapes.OldUnitReturnedSerializer,
        refusals=(
            *MOVEMENTS,
            "not-found",
            "nothing-given",
            "old-unit-ended",
            "tag-missing",
            "too-many-lines",
            "wrong-place",
        ),
    )
    def post(self, request: Request) -> Response:
        """Send back."""
        return self.do(
            request,
            shapes.OldUnitReturnInSerializer,
            lambda stamp, data: old_units.send_back(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class DepositFilters(filters.StrictFilterSet):
    """Filters of deposits."""

    side = filters.choice("side", [one.value for one in Side], "paid to a supplier, or taken in from a customer")
    supplier = filters.text("supplier__code", "paid to this supplier")
    job = filters.text("job", "of this job")
    part = filters.text("part__number", "for this part")
    outstanding = filters.Truth("something of it is outstanding", method="is_outstanding")

    def is_outstanding(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Open, or settled."""
        return rows.filter(outstanding_coins__gt=0) if value else rows.filter(outstanding_coins=0)


class DepositsView(ListView):
    """`deposits`."""

    acts = {"POST": "deposit"}
    filterset_class = DepositFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All deposits; the newest come first."""
        return read.deposits()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [values(row) for row in read.rendered_deposits(rows)]

    @reading(
        "deposits_list",
        "Deposits with their entries; the newest first",
        shape(read.DepositRow)(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of deposits."""
        return self.page(request)

    @act(
        "deposits_create",
        "Enter a deposit that was paid to a supplier, or taken in from a customer",
        shapes.DepositInSerializer,
        shapes.DepositMadeSerializer,
        refusals=(
            "amount-not-positive",
            "amount-too-large",
            "dates-turned",
            "not-found",
            "nothing-given",
            "wrong-part",
        ),
    )
    def post(self, request: Request) -> Response:
        """Enter."""
        return self.do(
            request,
            shapes.DepositInSerializer,
            lambda stamp, data: deposits.enter_deposit(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class DepositEntriesView(View):
    """`deposits/{id}/entries`."""

    acts = {"POST": "deposit"}

    @act(
        "deposits_entries_create",
        "Record what was refunded of a deposit, or is lost",
        shapes.DepositEntryInSerializer,
        shapes.DepositEntryMadeSerializer,
        refusals=(
            "amount-not-positive",
            "amount-too-large",
            "dates-turned",
            "more-than-outstanding",
            "not-found",
            "reason-missing",
        ),
    )
    def post(self, request: Request, number: int) -> Response:
        """Settle."""
        return self.do(
            request,
            shapes.DepositEntryInSerializer,
            lambda stamp, data: deposits.settle_deposit(
                actor=actor_of(request), stamp=stamp, deposit=number, **facts_of(data)
            ),
        )


class EntryReversalsView(View):
    """`deposit-entries/{id}/reversals`."""

    acts = {"POST": "deposit"}

    @act(
        "deposit_entries_reversals_create",
        "Take an entry of a deposit back by another one",
        shapes.EntryReversalInSerializer,
        shapes.EntryReversedSerializer,
        refusals=("more-than-outstanding", "not-found", "reason-missing", "reversed-already"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Take back."""
        return self.do(
            request,
            shapes.EntryReversalInSerializer,
            lambda stamp, data: deposits.reverse_entry(
                actor=actor_of(request), stamp=stamp, entry=number, **facts_of(data)
            ),
        )


class OutstandingDepositsView(View):
    """`outstanding-deposits`."""

    @reading(
        "outstanding_deposits_read",
        "What is outstanding of deposits: with each supplier, with all of them, and of the customers'",
        shapes.OutstandingSerializer,
    )
    def get(self, request: Request) -> Response:
        """By holder and in all."""
        held, total = read.held_now()
        return Response({"held": values(held), "outstanding_coins": total})


class DepositsAtRiskView(View):
    """`deposits-at-risk`."""

    parameters = ("on", "days", "supplier")

    @reading(
        "deposits_at_risk_read",
        "Deposits whose old unit is missing or not sent back at its limit, or whose limit comes near; the earliest limit first",
        shapes.AtRiskSerializer,
        parameters=(ON_DAY, DAYS, SUPPLIER),
    )
    def get(self, request: Request) -> Response:
        """On a day."""
        on, days = day(request, "on"), whole(request, "days", 0)
        found, total = read.at_risk(on, days, text(request, "supplier"))
        return Response({"on": on, "days": days, "at_risk": values(found), "at_risk_coins": total})
