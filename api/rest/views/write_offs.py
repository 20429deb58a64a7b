"""`write-offs`: what of the dated stock is likely to be thrown away; `idle-stock`: what nobody used for long."""

from __future__ import annotations

from datetime import timedelta

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.parameters import described, text
from api.rest.problems import refuse
from api.rest.schema import reading
from api.rest.serializers.write_offs import IdlePartSerializer, WriteOffsSerializer
from api.rest.views.base import View
from api.rest.views.trace import ON_DAY, day, whole
from inventory.queries.catalogue import no_such_site, sites
from inventory.queries.catalogue import part as part_by_number
from inventory.queries.idle_stock import idle_stock
from inventory.queries.write_offs import write_offs

#: A year back, and a year ahead, where nothing else is asked for.
YEAR = 365
MOST_DAYS = 3650
MONTHS_IDLE, MOST_MONTHS = 12, 600
MONTHS = OpenApiParameter(
    "months",
    OpenApiTypes.INT,
    description=f"Not used for so many whole months, up to {MOST_MONTHS}; {MONTHS_IDLE} if left out.",
)
UNTIL = OpenApiParameter(
    "until", OpenApiTypes.DATE, description="Lots whose use-by is not after this day; a year on if left out."
)
WINDOW = OpenApiParameter(
    "window_days",
    OpenApiTypes.INT,
    description=f"Days of past use that the rate is taken from, up to {MOST_DAYS}; {YEAR} if left out.",
)


SITE = described("site", "What lies at this site, and what its own shelves gave out; all sites as one if left out.")


class WriteOffsView(View):
    """`write-offs`."""

    parameters = ("on", "until", "window_days", "part", "site")

    @reading(
        "write_offs_read",
        "What of each lot is likely to be written off by its use-by, from past use and what jobs hold, and the sums by month."
        " An estimate: a person decides what is ordered or offered elsewhere",
        WriteOffsSerializer,
        refusals=("not-found",),
        parameters=(ON_DAY, UNTIL, WINDOW, described("part", "This part only."), SITE),
    )
    def get(self, request: Request) -> Response:
        """The forecast."""
        on = day(request, "on")
        until = day(request, "until") if text(request, "until") else on + timedelta(days=YEAR)
        window = _within(request, "window_days", 1, MOST_DAYS, YEAR)
        number = text(request, "part")
        part = part_by_number(number) if number else None
        return Response(write_offs(on, until, window, part, _site(request)))


class IdleStockView(View):
    """`idle-stock`."""

    parameters = ("on", "months", "window_days", "site")

    @reading(
        "idle_stock_read",
        "Parts on the shelves that nobody used for so many months, dated or not: what was never used first, then the longest idle",
        IdlePartSerializer(many=True),
        refusals=("not-found",),
        parameters=(ON_DAY, MONTHS, WINDOW, SITE),
    )
    def get(self, request: Request) -> Response:
        """The longest idle first."""
        months = _within(request, "months", 0, MOST_MONTHS, MONTHS_IDLE)
        window = _within(request, "window_days", 1, MOST_DAYS, YEAR)
        return Response(idle_stock(day(request, "on"), months, window, _site(request)))


def _site(request: Request) -> str:
    """The code of the site that is asked about, empty for all; DomainError "not-found"."""
    site = text(request, "site")
    if site and not sites().filter(code=site).exists():
        raise no_such_site(site)
    return site


def _within(request: Request, name: str, least: int, most: int, otherwise: int) -> int:
    """A whole number of a query parameter inside its bounds; DomainError "parameter-wrong"."""
    value = whole(request, name)
    if value is None:
        return otherwise
    if not least <= value <= most:
        raise refuse("parameter-wrong", f"{name} is from {least} to {most}.", parameter=name, value=str(value))
    return value
