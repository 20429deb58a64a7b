"""`write-offs`: what of the dated stock is likely to be thrown away."""

from __future__ import annotations

from datetime import timedelta

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.parameters import described, text
from api.rest.problems import refuse
from api.rest.schema import reading
from api.rest.serializers.write_offs import WriteOffsSerializer
from api.rest.views.base import View
from api.rest.views.trace import ON_DAY, day, whole
from inventory.queries.catalogue import part as part_by_number
from inventory.queries.write_offs import write_offs

#: A year back, and a year ahead, where nothing else is asked for.
YEAR = 365
MOST_DAYS = 3650
UNTIL = OpenApiParameter(
    "until", OpenApiTypes.DATE, description="Lots whose use-by is not after this day; a year on if left out."
)
WINDOW = OpenApiParameter(
    "window_days",
    OpenApiTypes.INT,
    description=f"Days of past use that the rate is taken from, up to {MOST_DAYS}; {YEAR} if left out.",
)


class WriteOffsView(View):
    """`write-offs`."""

    parameters = ("on", "until", "window_days", "part")

    @reading(
        "write_offs_read",
        "What of each lot is likely to be written off by its use-by, from past use and what jobs hold, and the sums by month."
        " An estimate: a person decides what is ordered or offered elsewhere",
        WriteOffsSerializer,
        refusals=("not-found",),
        parameters=(ON_DAY, UNTIL, WINDOW, described("part", "This part only.")),
    )
    def get(self, request: Request) -> Response:
        """The forecast."""
        on = day(request, "on")
        until = day(request, "until") if text(request, "until") else on + timedelta(days=YEAR)
        window = whole(request, "window_days")
        if window is not None and not 1 <= window <= MOST_DAYS:
            raise refuse(
                "parameter-wrong", f"window_days is from 1 to {MOST_DAYS}.", parameter="window_days", value=str(window)
            )
        number = text(request, "part")
        return Response(write_offs(on, until, window or YEAR, part_by_number(number) if number else None))
