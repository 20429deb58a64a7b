"""`pick-lists`: reading and printing, picking, handing over."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.renderers import PrintedPageRenderer
from api.rest.schema import MOVEMENTS, act, reading
from api.rest.serializers import pick_lists as shapes
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.jobs import ON_JOB
from api.rest.views.printed import FORMAT, PrintedView
from api.rest.views.trace import today
from inventory.queries.people import person_by_login
from kits.domain.sheet import sheet
from kits.queries import pick_lists as read
from kits.queries.bins_to_count import bins_to_count
from kits.queries.revisions import stops_of
from kits.queries.scope import job_by_number
from kits.queries.to_return import unasked_on
from kits.services.look_again import LookIn, look_again
from kits.services.pick_kit import Scan, hand_over, pick


class JobPickListsView(ListView):
    """`jobs/{number}/pick-lists`."""

    orderings = ("number",)

    def rows(self) -> QuerySet[Any]:
        """Pick lists of the job."""
        return read.pick_lists_of(job_by_number(self.kwargs["number"]))

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records in short."""
        return [read.summary(row) for row in rows]

    @reading(
        "jobs_pick_lists_list", "Pick lists of a job", shapes.PickListSerializer(many=True), refusals=("not-found",)
    )
    def get(self, request: Request, number: str) -> Response:
        """A page of pick lists."""
        return self.page(request)


class PickListView(PrintedView):
    """`pick-lists/{id}`, as JSON or as a page to print."""

    page_template = "pick_list.html"

    @reading(
        "pick_lists_read",
        "A pick list: by tray in order of work, and by bin in walking order",
        shapes.PickListDetailSerializer,
        refusals=("not-found",),
        parameters=(FORMAT,),
        printed=True,
        amounts=True,
    )
    def get(self, request: Request, pick_list: int) -> Response:
        """One pick list."""
        row = read.pick_list(pick_list)
        now = {"stopped_by_maker": stops_of(row.job), "unasked": unasked_on(row, today())}
        record = self.in_unit_asked(request, read.full_record(row) | now)
        printed = request.accepted_renderer.format == PrintedPageRenderer.format
        return Response(sheet(record) if printed else record)


class PickListPicksView(View):
    """`pick-lists/{id}/picks`."""

    acts = {"POST": "pick"}

    @act(
        "pick_lists_picks_create",
        "Shelf to cart, line by line, each by a scan that must match what is held; if one is refused, nothing is picked",
        shapes.PicksInSerializer,
        shapes.PicksMadeSerializer,
        refusals=(
            *ON_JOB,
            *MOVEMENTS,
            "check-digit-wrong",
            "expired",
            "hold-ended",
            "label-ambiguous",
            "label-unreadable",
            "lot-stopped",
            "not-for-engine",
            "not-whole",
            "nothing-given",
            "part-number-unreadable",
            "pick-over-hold",
            "safety-sheet-missing",
            "scanned-twice",
            "substitute-not-agreed",
            "verdict-fails",
            "wrong-rubber",
            "wrong-scan",
        ),
    )
    def post(self, request: Request, pick_list: int) -> Response:
        """Pick."""
        return self.do(
            request,
            shapes.PicksInSerializer,
            lambda stamp, data: pick(
                actor=actor_of(request), stamp=stamp, pick_list=pick_list, scans=[Scan(**one) for one in data["scans"]]
            ),
        )


class PickListSecondLooksView(View):
    """`pick-lists/{id}/second-looks`."""

    acts = {"POST": "check"}

    @act(
        "pick_lists_second_looks_create",
        "A second person, never the picker, looked at picked lines; what is wrong goes back to its bin and its line is open again",
        shapes.LooksInSerializer,
        shapes.LookedAtSerializer,
        refusals=(
            *ON_JOB,
            *MOVEMENTS,
            "done-already",
            "may-not-check",
            "not-on-duty",
            "not-picked",
            "nothing-given",
            "same-person",
        ),
    )
    def post(self, request: Request, pick_list: int) -> Response:
        """Look."""
        return self.do(
            request,
            shapes.LooksInSerializer,
            lambda stamp, data: look_again(
                actor=actor_of(request),
                stamp=stamp,
                pick_list=pick_list,
                looks=[LookIn(**one) for one in data["looks"]],
            ),
        )


class BinsToCountView(View):
    """`bins-to-count`."""

    @reading(
        "bins_to_count_read",
        "Bins in which the books have what nobody found for a job: with why and since when, until that thing is counted there",
        shapes.ListedBinSerializer(many=True),
    )
    def get(self, request: Request) -> Response:
        """In walking order."""
        return Response(bins_to_count())


class PickListHandoversView(View):
    """`pick-lists/{id}/handovers`."""

    acts = {"POST": "hand_over"}

    @act(
        "pick_lists_handovers_create",
        "Cart to bench, signed by two people, missing lines named; the special tools go along on loan",
        shapes.HandoverInSerializer,
        shapes.HandedOverSerializer,
        refusals=(
            *ON_JOB,
            *MOVEMENTS,
            "companion-missing",
            "expired",
            "lot-stopped",
            "may-not-take-over",
            "missing-not-named",
            "mixed",
            "not-for-engine",
            "nothing-there",
            "safety-sheet-missing",
            "safety-sheet-unread",
            "same-person",
            "second-look-missing",
            "stopped-by-maker",
            "substitute-not-agreed",
        ),
    )
    def post(self, request: Request, pick_list: int) -> Response:
        """Hand over."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            return hand_over(
                actor=actor_of(request),
                stamp=stamp,
                pick_list=pick_list,
                received_by=person_by_login(data["received_by"]),
                missing=data.get("missing", []),
            )

        return self.do(request, shapes.HandoverInSerializer, service)
