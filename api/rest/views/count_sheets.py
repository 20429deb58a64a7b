"""Counting in turn: `count-classes`, `bins-due`, `count-sheets` and `count-accuracy`."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.parameters import described, needed
from api.rest.problems import refuse
from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import count_sheets as shapes
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.moves import COUNTING
from api.rest.views.parts import facts_of
from api.rest.views.printed import FORMAT, PrintedView
from api.rest.views.trace import ON_DAY, day, whole
from inventory.queries.count_sheets import blind, differences, sheet_by_number, sheets, summary
from inventory.queries.counting import count_accuracy, count_classes
from inventory.services.count_sheets import BinIn, open_sheet, post_sheet
from inventory.services.enter_counts import SheetLineIn, enter_counts, recount
from inventory.services.run import Done, Stamp
from kits.queries.bins_to_count import bins_to_count_on

#: Days back, where no first day is named.
QUARTER = 90
MOST_BINS = 500
_ENTERING = (
    *AMOUNTS,
    "counted-twice",
    "not-found",
    "nothing-given",
    "serial-is-one",
    "sheet-booked",
    "spelling-ambiguous",
    "storage-unchecked",
    "storage-unusable",
    "too-many-lines",
)


class CountClassesView(View):
    """`count-classes`."""

    parameters = ("on",)

    @reading(
        "count_classes_read",
        "In which class each part is counted on a day, from what the shop's own movements used in the year before, and how often",
        shapes.CountClassSerializer(many=True),
        parameters=(ON_DAY,),
    )
    def get(self, request: Request) -> Response:
        """The greatest use value first."""
        return Response(count_classes(day(request, "on")))


class BinsDueView(View):
    """`bins-due`."""

    parameters = ("site", "on", "bins")

    @reading(
        "bins_due_read",
        "Bins of a site to count on a day: those in which something was not found first, then odd ones of whole packs, then those due by class, the longest not"
        " counted first",
        shapes.BinsDueSerializer,
        refusals=("not-found",),
        parameters=(
            described("site", "Code of the site.", required=True),
            ON_DAY,
            OpenApiParameter(
                "bins",
                OpenApiTypes.INT,
                description=f"About so many, up to {MOST_BINS}; the shop's number if left out.",
            ),
        ),
    )
    def get(self, request: Request) -> Response:
        """First things first."""
        most = whole(request, "bins")
        if most is not None and not 1 <= most <= MOST_BINS:
            raise refuse("parameter-wrong", f"bins is from 1 to {MOST_BINS}.", parameter="bins", value=str(most))
        return Response(bins_to_count_on(needed(request, "site"), day(request, "on"), most))


class CountSheetFilters(filters.StrictFilterSet):
    """Filters of count sheets."""

    site = filters.text("site__code", "of this site")
    booked = filters.Truth("booked already, or not", method="was_booked")

    def was_booked(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        """Booked, or not."""
        return rows.filter(posting__isnull=not value)


class CountSheetsView(ListView):
    """`count-sheets`."""

    acts = {"POST": "count"}
    filterset_class = CountSheetFilters
    orderings = ("-pk",)

    def rows(self) -> QuerySet[Any]:
        """All sheets, the newest first."""
        return sheets()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """In short."""
        return [summary(row) for row in rows]

    @reading(
        "count_sheets_list",
        "Count sheets, the newest first",
        shapes.CountSheetRecordSerializer(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of sheets."""
        return self.page(request)

    @act(
        "count_sheets_create",
        "Open a count sheet over bins: a line for each thing in them, without what the books say",
        shapes.CountSheetInSerializer,
        shapes.SheetOpenedSerializer,
        refusals=("counted-twice", "not-found", "nothing-given", "too-many-lines", "wrong-place"),
    )
    def post(self, request: Request) -> Response:
        """Open."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data) | {"bins": [BinIn(**one) for one in data["bins"]]}
            return open_sheet(actor=actor_of(request), stamp=stamp, **facts)

        return self.do(request, shapes.CountSheetInSerializer, service)


class CountSheetView(PrintedView):
    """`count-sheets/{id}`, as JSON or as a page to print."""

    page_template = "count_sheet.html"

    @reading(
        "count_sheets_read",
        "A count sheet to count by: without what the books say and without what was counted, with how each kind is stored",
        shapes.BlindSheetSerializer,
        refusals=("not-found",),
        parameters=(FORMAT,),
        printed=True,
    )
    def get(self, request: Request, number: int) -> Response:
        """The sheet."""
        return Response(blind(sheet_by_number(number)))


class CountSheetDifferencesView(View):
    """`count-sheets/{id}/differences`."""

    @reading(
        "count_sheets_differences_read",
        "What was counted beside the books as of that moment, with the last three movements of what differs; lines still to be counted,"
        " or to be counted again, tell nothing",
        shapes.SheetDifferencesSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: int) -> Response:
        """The sheet with the books beside."""
        return Response(differences(sheet_by_number(number)))


def _entering(request: Request, number: int, service: Callable[..., Done]) -> Callable[[Stamp, dict[str, Any]], Done]:
    def called(stamp: Stamp, data: dict[str, Any]) -> Done:
        lines = [
            SheetLineIn(**{("item_id" if name == "item" else name): value for name, value in one.items()})
            for one in data["lines"]
        ]
        return service(
            actor=actor_of(request), stamp=stamp, sheet=number, lines=lines, looked_at=data.get("looked_at", ())
        )

    return called


class CountSheetEntriesView(View):
    """`count-sheets/{id}/entries`."""

    acts = {"POST": "count"}

    @act(
        "count_sheets_entries_create",
        "Enter what was counted; what is far off the books is counted again by another person before anything is booked",
        shapes.SheetCountsInSerializer,
        shapes.SheetCountsSerializer,
        refusals=(*_ENTERING, "counted-already"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Enter."""
        return self.do(request, shapes.SheetCountsInSerializer, _entering(request, number, enter_counts))


class CountSheetRecountsView(View):
    """`count-sheets/{id}/recounts`."""

    acts = {"POST": "recount"}

    @act(
        "count_sheets_recounts_create",
        "Count again, as another person than who counted last, lines that are to be counted again",
        shapes.SheetCountsInSerializer,
        shapes.SheetCountsSerializer,
        refusals=(*_ENTERING, "recount-not-asked", "second-person-needed"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Count again."""
        return self.do(request, shapes.SheetCountsInSerializer, _entering(request, number, recount))


class CountSheetPostingsView(View):
    """`count-sheets/{id}/postings`."""

    acts = {"POST": "count"}

    @act(
        "count_sheets_postings_create",
        "Book a sheet, once: a difference is a new entry with a reason, against the books as of the moment it was counted",
        shapes.SheetPostingInSerializer,
        shapes.SheetPostedSerializer,
        refusals=(*COUNTING, "dates-turned", "recount-needed", "sheet-booked"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Book."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            reasons = {one["line"]: one["reason"] for one in facts.pop("reasons", ())}
            return post_sheet(actor=actor_of(request), stamp=stamp, sheet=number, reasons=reasons, **facts)

        return self.do(request, shapes.SheetPostingInSerializer, service)


class CountAccuracyView(View):
    """`count-accuracy`."""

    parameters = ("since", "on")

    @reading(
        "count_accuracy_read",
        "Share of counted lines that were as the books said, by class",
        shapes.CountAccuracySerializer,
        parameters=(
            OpenApiParameter(
                "since", OpenApiTypes.DATE, description=f"First day; {QUARTER} days before the last if left out."
            ),
            OpenApiParameter("on", OpenApiTypes.DATE, description="Last day; today if left out."),
        ),
    )
    def get(self, request: Request) -> Response:
        """The shares."""
        until = day(request, "on")
        since = day(request, "since") if "since" in request.query_params else until - timedelta(days=QUARTER)
        return Response(count_accuracy(since, until))
