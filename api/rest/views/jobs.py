"""`jobs`, and what is read of one: its list, what it is short of, what keeps it open."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from django_filters import CharFilter
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.etags import etag
from api.rest.problems import refuse
from api.rest.schema import act, reading
from api.rest.serializers import jobs as shapes
from api.rest.serializers.to_return import ToReturnSerializer
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from api.rest.views.trace import ON_DAY, day
from inventory.domain.text import shown
from kits.queries import jobs as read
from kits.queries import pick_lists
from kits.queries.job_list import changes_document, changes_since, document, job_list
from kits.queries.list_sheets import sheet_warnings, storage_warnings
from kits.queries.open_lines import open_lines
from kits.queries.revisions import newer_document
from kits.queries.scope import job_by_number
from kits.queries.shorts import shorts_of
from kits.queries.startable import startable_of
from kits.queries.to_return import to_return, unasked_rows
from kits.services.jobs import FindingIn, book_job

#: Any act on a job may be refused with these.
ON_JOB = ("not-found", "job-ended")
#: What the computation of a list may be refused for.
LISTING = (
    "density-missing",
    "replacement-ratio",
    "replacement-too-wide",
    "sealant-size-missing",
    "sealant-tube-unknown",
    "sealant-two-products",
)
SINCE = OpenApiParameter(
    "since",
    OpenApiTypes.STR,
    description="What changed since then: the number of a pick list of the job (1, 2, …), or `act:` and the number of an act.",
)
ON = OpenApiParameter(
    "on",
    OpenApiTypes.DATE,
    description="The day asked about, today if left out: once the day of fitting has passed, stock is judged on it, and what is bought is ordered on it.",
)
WAITING = OpenApiParameter(
    "waiting", OpenApiTypes.STR, enum=["1"], description="As it will be once the owner has agreed to the extra work."
)


class JobFilters(filters.StrictFilterSet):
    """Filters of jobs."""

    state = filters.choice("state", read.STATES, "booked, closed or cancelled")
    site = filters.text("site__code", "at this site")
    engine = filters.text("engine__number", "on exactly this engine")
    family = filters.text("engine__family__code", "on engines of this family")
    fit_on_from = filters.day("fit_on", "gte", "fitted on this day or later")
    fit_on_to = filters.day("fit_on", "lte", "fitted on this day or earlier")
    search = CharFilter(method="near", help_text="near job or engine numbers: O for zero, swapped or wrong characters")

    def near(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Forgiving search, the nearest first."""
        return read.search_jobs(rows, value)


class JobsView(ListView):
    """`jobs`."""

    acts = {"POST": "book"}
    filterset_class = JobFilters
    nearest_by = ("search",)
    orderings = ("number", "fit_on", "strip_on")

    def rows(self) -> QuerySet[Any]:
        """All jobs."""
        return read.jobs()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [read.record(row) for row in rows]

    @reading("jobs_list", "Jobs", shapes.JobSerializer(many=True), filtered=True, refusals=("part-number-unreadable",))
    def get(self, request: Request) -> Response:
        """A page of jobs."""
        return self.page(request)

    @act(
        "jobs_create",
        "Book a rebuild job; the newest revisions of its family and procedures are frozen on it",
        shapes.JobInSerializer,
        shapes.JobBookedSerializer,
        refusals=(
            "dates-turned",
            "engine-number-too-low",
            "engine-number-unreadable",
            "engine-unknown",
            "finding-on-job",
            "finding-place-wrong",
            "finding-unknown",
            "job-exists",
            "not-found",
            "nothing-given",
            "operation-other-family",
            "owner-differs",
            "place-exists",
            "procedure-unusable",
            "reading-asked",
            "reason-missing",
        ),
    )
    def post(self, request: Request) -> Response:
        """Book."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            facts["engine_number"] = facts.pop("engine")
            facts["owner_id"] = facts.pop("owner", None)
            facts["findings"] = [FindingIn(**one) for one in facts.get("findings", [])]
            return book_job(actor=actor_of(request), stamp=stamp, **facts)

        return self.do(request, shapes.JobInSerializer, service)


class JobView(View):
    """`jobs/{number}`."""

    @reading(
        "jobs_read",
        "A job with what was booked, found, said and decided. The ETag changes with everything that happens to the job",
        shapes.JobDetailSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """One job."""
        row = job_by_number(number)
        return Response(read.full_record(row), headers={"ETag": etag(row.version), "Cache-Control": "no-store"})


class JobListView(View):
    """`jobs/{number}/list`."""

    parameters = ("on", "since", "waiting")

    @reading(
        "jobs_list_read",
        "What must lie on the cart, in order of work, every unit with its because; what changed since another list",
        shapes.JobListSerializer,
        refusals=("not-found", *LISTING),
        parameters=(ON, SINCE, WAITING),
        amounts=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """The list now."""
        row = job_by_number(number)
        waiting = _waiting(request)
        since = request.query_params.get("since")
        before = _act_of(row, since) if since is not None else None
        on = day(request, "on")
        listed = job_list(row, on, with_waiting=waiting)
        body = document(listed) | {
            "safety_sheets": sheet_warnings(listed, actor_of(request).pk, timezone.now()),
            "storage": storage_warnings(listed, timezone.now()),
            "newer": newer_document(job_list(row, on, stock=False) if waiting else listed),
            "held_unasked": unasked_rows(listed),
        }
        if before is not None:
            changes = changes_since(listed, job_list(row, on, upto_act=before))
            body["changes"] = changes_document(changes, body["held_unasked"])
        return Response(body)


def _waiting(request: Request) -> bool:
    given = request.query_params.get("waiting")
    if given not in (None, "1"):
        raise refuse("parameter-wrong", f'waiting "{shown(given)}" is not 1.', parameter="waiting", value=shown(given))
    return given == "1"


def _act_of(job: Any, since: str) -> int:
    """The act after which the earlier list is computed; DomainError "parameter-wrong", "not-found"."""
    digits = since.removeprefix("act:")
    if not (digits.isascii() and digits.isdigit() and len(digits) <= 15):
        raise refuse(
            "parameter-wrong",
            f'since "{shown(since)}" is neither the number of a pick list nor act: and a number.',
            parameter="since",
            value=shown(since),
        )
    if since != digits:
        return int(digits)
    found = pick_lists.act_of_list(job, int(digits)) if len(digits) <= 9 else None
    if found is None:
        raise refuse("not-found", f"Job {job.number} has no pick list {digits}.", pick_list=digits)
    return found


class JobShortsView(View):
    """`jobs/{number}/shorts`."""

    parameters = ("on",)

    @reading(
        "jobs_shorts_read",
        "What the job's list lacks on the shelves of its site, with every way out",
        shapes.JobShortsSerializer,
        refusals=("not-found", *LISTING),
        parameters=(ON,),
        amounts=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """Shorts now."""
        return Response(shorts_of(job_by_number(number), day(request, "on")))


class JobOpenLinesView(View):
    """`jobs/{number}/open-lines`."""

    parameters = ("on",)

    @reading(
        "jobs_open_lines_read",
        "What keeps the job from being closed, each thing by name",
        shapes.OpenLinesSerializer,
        refusals=("not-found", *LISTING),
        parameters=(ON,),
    )
    def get(self, request: Request, number: str) -> Response:
        """Open lines now."""
        row = job_by_number(number)
        return Response({"job": row.number, "open": open_lines(row, day(request, "on"))})


class JobToReturnView(View):
    """`jobs/{number}/to-return`."""

    parameters = ("on",)

    @reading(
        "jobs_to_return_read",
        "What lies with the job, or is held for it, and serves nothing on its list",
        ToReturnSerializer,
        refusals=("not-found", *LISTING),
        parameters=(ON,),
        amounts=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """What goes back now."""
        return Response(to_return(job_by_number(number), day(request, "on")))


class JobStartableView(View):
    """`jobs/{number}/startable`."""

    parameters = ("on",)

    @reading(
        "jobs_startable_read",
        "Which steps can begin with what is fitted, on the cart and at the bench, and the first day on which each other one can: the "
        "latest of its parts, the steps before it, and the pieces due back from outside; and the day before which the job is not handed over",
        shapes.StartableSerializer,
        refusals=("not-found", *LISTING),
        parameters=(ON_DAY,),
        amounts=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """What can begin now."""
        on, job = day(request, "on"), job_by_number(number)
        return Response(startable_of(job, on))
