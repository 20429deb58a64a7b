"""`stock-value`, `jobs/{number}/costs`, `late-invoices`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.parameters import described, text
from api.rest.schema import act, reading
from api.rest.serializers import money as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.trace import KNOWN, ON, ON_DAY, day, moment
from inventory.queries import catalogue as read
from inventory.queries.late_invoices import late_invoices
from inventory.queries.valuation import stock_value
from inventory.queries.value_walk import AsOf
from inventory.services import invoices
from kits.queries.job_costs import costs_of
from kits.queries.scope import job_by_number


def _when(request: Request) -> tuple[AsOf, dict[str, Any]]:
    """What is asked for, and as it is said in the answer."""
    on, known = moment(request, "on"), moment(request, "known")
    return AsOf.of(on, known), {
        "on": on.isoformat() if on else None,
        "known": known.isoformat() if known else None,
    }


class StockValueView(View):
    """`stock-value`."""

    parameters = ("on", "known", "site")

    @reading(
        "stock_value_read",
        "What stock is worth, now or on a day, as known on a day: things with a number of their own at their own cost, the rest by the"
        " shop's method. Deposits are not in it",
        shapes.StockValueSerializer,
        refusals=("not-found",),
        parameters=(ON, KNOWN, described("site", "What lies at this site.")),
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """By part."""
        as_of, said = _when(request)
        site = text(request, "site")
        if site and not read.sites().filter(code=site).exists():
            raise read.no_such_site(site)
        return Response(said | stock_value(as_of, site))


class JobCostsView(View):
    """`jobs/{number}/costs`."""

    parameters = ("on", "known")

    @reading(
        "jobs_costs_read",
        "What the job is charged for parts: at cost when they come to its bench, credited at the same cost when they come back",
        shapes.JobCostsSerializer,
        refusals=("not-found",),
        parameters=(ON, KNOWN),
    )
    def get(self, request: Request, number: str) -> Response:
        """By item."""
        as_of, said = _when(request)
        return Response(said | costs_of(job_by_number(number), as_of))


class LateInvoicesView(View):
    """`late-invoices`."""

    acts = {"POST": "invoice"}
    parameters = ("on",)

    @reading(
        "late_invoices_read",
        "Lines of deliveries whose invoice is awaited on a day, the oldest first, and where the differences of those entered went",
        shapes.LateInvoicesSerializer,
        parameters=(ON_DAY,),
        amounts=True,
    )
    def get(self, request: Request) -> Response:
        """On a day."""
        return Response(late_invoices(day(request, "on")))

    @act(
        "late_invoices_create",
        "Enter what was charged for a line of a delivery: the share of what is still there goes to it, the rest is a price difference;"
        " nothing that was issued is charged again",
        shapes.InvoiceInSerializer,
        shapes.InvoiceSerializer,
        refusals=("not-found", "reason-missing", "done-already"),
    )
    def post(self, request: Request) -> Response:
        """Enter it."""
        return self.do(
            request,
            shapes.InvoiceInSerializer,
            lambda stamp, data: invoices.enter_invoice(
                actor=actor_of(request),
                stamp=stamp,
                line=data["line"],
                coins=data["coins"],
                note=data.get("note", ""),
                reason=data.get("reason", ""),
            ),
        )
