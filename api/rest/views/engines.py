"""`engine-families`, `procedures` and `engines`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet
from django_filters import CharFilter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.permissions import may
from api.rest.problems import refuse
from api.rest.schema import act, reading
from api.rest.serializers import engines as shapes
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from inventory.domain.errors import DomainError
from kits.queries import catalogue as read
from kits.queries.by_number import ranges_of_engine
from kits.queries.engines import engine_by_number, last_jobs, search_engines
from kits.queries.likely import likely_findings
from kits.services.engines import mark_classed, mark_field_modified
from kits.services.families import enter_family, enter_procedure


def rendered_family(row: Any) -> dict[str, Any]:
    """The record of a family."""
    return {"code": row.code, "name": row.name, "prefix": row.prefix, "revision": row.newest}


def rendered_procedure(row: Any) -> dict[str, Any]:
    """The record of a procedure."""
    return {"code": row.code, "name": row.name, "family": row.family.code, "revision": row.newest}


def rendered_engines(rows: Sequence[Any], request: Request) -> list[dict[str, Any]]:
    """The records of engines; the owner's name only to whoever may see owners. One query, and those of the permission."""
    last, named = last_jobs(rows), request.user.has_perm(may("see_owner"))
    found = []
    for row in rows:
        job = last.get(row.pk)
        found.append(
            {
                "number": row.number,
                "family": row.family.code,
                "place": row.place.code,
                "field_modified": row.field_modified,
                "classed": row.classed,
                "owner": row.owner_id,
                "owner_name": (row.owner.name if row.owner else "") if named else None,
                "last_job": job.number if job else "",
                "last_job_on": job.strip_on if job else None,
            }
        )
    return found


def engine_of(number: str) -> Any:
    """The engine of an address, forgiving of case, spaces and dashes; DomainError "not-found" with near numbers."""
    try:
        return engine_by_number(number)
    except DomainError as error:
        raise refuse("not-found", error.message, ways_out=error.ways_out, **error.values) from None


class FamiliesView(ListView):
    """`engine-families`."""

    acts = {"POST": "procedure"}
    orderings = ("code",)

    def rows(self) -> QuerySet[Any]:
        """All families."""
        return read.families()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered_family(row) for row in rows]

    @reading("engine_families_list", "Engine families", shapes.FamilySerializer(many=True))
    def get(self, request: Request) -> Response:
        """A page of families."""
        return self.page(request)

    @act(
        "engine_families_create",
        "Enter an engine family, or its next revision; jobs keep the revision they were booked with",
        shapes.DocumentInSerializer,
        shapes.FamilyEnteredSerializer,
        refusals=("family-unusable", "nothing-changed", "prefix-differs", "revision-taken"),
    )
    def post(self, request: Request) -> Response:
        """Enter."""
        return self.do(
            request,
            shapes.DocumentInSerializer,
            lambda stamp, data: enter_family(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class FamilyView(View):
    """`engine-families/{code}`."""

    @reading(
        "engine_families_read",
        "A family with its newest map",
        shapes.FamilyDetailSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, code: str) -> Response:
        """One family."""
        row = read.family(code)
        return Response({**rendered_family(row), "document": read.family_document(row)})


class LikelyFindingsView(View):
    """`engine-families/{code}/likely-findings`."""

    @reading(
        "engine_families_likely_findings",
        "How likely each finding is before the strip, by the closed jobs of the family; few are said to be thin data",
        shapes.LikelyFindingSerializer(many=True),
        refusals=("not-found",),
    )
    def get(self, request: Request, code: str) -> Response:
        """The likeliest first."""
        return Response(likely_findings(read.family(code)))


class ProcedureFilters(filters.StrictFilterSet):
    """Filters of procedures."""

    family = filters.text("family__code", "of this engine family")


class ProceduresView(ListView):
    """`procedures`."""

    acts = {"POST": "procedure"}
    filterset_class = ProcedureFilters
    orderings = ("code",)

    def rows(self) -> QuerySet[Any]:
        """All procedures."""
        return read.procedures()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [rendered_procedure(row) for row in rows]

    @reading("procedures_list", "Procedures", shapes.ProcedureSerializer(many=True), filtered=True)
    def get(self, request: Request) -> Response:
        """A page of procedures."""
        return self.page(request)

    @act(
        "procedures_create",
        "Enter a procedure, or its next revision, for the newest revision of its family",
        shapes.ProcedureInSerializer,
        shapes.ProcedureEnteredSerializer,
        refusals=(
            "bead-implausible",
            "kit-in-line",
            "not-found",
            "nothing-changed",
            "operation-other-family",
            "procedure-unusable",
            "revision-taken",
        ),
    )
    def post(self, request: Request) -> Response:
        """Enter."""
        return self.do(
            request,
            shapes.ProcedureInSerializer,
            lambda stamp, data: enter_procedure(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class ProcedureView(View):
    """`procedures/{code}`."""

    @reading(
        "procedures_read",
        "A procedure with its newest steps and parts lines",
        shapes.ProcedureDetailSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, code: str) -> Response:
        """One procedure."""
        row = read.procedure(code)
        return Response({**rendered_procedure(row), "document": read.procedure_document(row)})


class EngineFilters(filters.StrictFilterSet):
    """Filters of engines."""

    family = filters.text("family__code", "of this family")
    number = filters.text("number", "exactly this number")
    search = CharFilter(
        method="near",
        help_text="this number, those that have the text in them, and near ones: one digit wrong, two swapped, O for zero",
    )

    def near(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Forgiving search, the nearest first."""
        return search_engines(rows, value)


class EnginesView(ListView):
    """`engines`."""

    filterset_class = EngineFilters
    nearest_by = ("search",)
    orderings = ("number",)

    def rows(self) -> QuerySet[Any]:
        """All engines."""
        return read.engines()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return rendered_engines(rows, request)

    @reading("engines_list", "Engines", shapes.EngineSerializer(many=True), filtered=True)
    def get(self, request: Request) -> Response:
        """A page of engines."""
        return self.page(request)


class EngineView(View):
    """`engines/{number}`."""

    @reading("engines_read", "An engine", shapes.EngineDetailSerializer, refusals=("not-found",))
    def get(self, request: Request, number: str) -> Response:
        """One engine."""
        row = engine_of(number)
        return Response({**rendered_engines([row], request)[0], "number_ranges": ranges_of_engine(row)})


class EngineFieldMarksView(View):
    """`engines/{number}/field-marks`."""

    acts = {"POST": "finding"}

    @act(
        "engines_field_marks_create",
        "Say whether the engine was changed in the field: with the mark a person confirms what its number decides",
        shapes.FieldMarkInSerializer,
        shapes.FieldMarkedSerializer,
        refusals=("not-found", "nothing-changed", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Mark."""
        return self.do(
            request,
            shapes.FieldMarkInSerializer,
            lambda stamp, data: mark_field_modified(
                actor=actor_of(request),
                stamp=stamp,
                engine=number,
                modified=data["field_modified"],
                reason=data["reason"],
            ),
        )


class EngineClassMarksView(View):
    """`engines/{number}/class-marks`."""

    acts = {"POST": "book"}

    @act(
        "engines_class_marks_create",
        "Say whether the engine is under class: with the mark its owner agrees to what goes in instead of a listed part",
        shapes.ClassMarkInSerializer,
        shapes.ClassMarkedSerializer,
        refusals=("not-found", "nothing-changed", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Mark."""
        return self.do(
            request,
            shapes.ClassMarkInSerializer,
            lambda stamp, data: mark_classed(actor=actor_of(request), stamp=stamp, engine=number, **facts_of(data)),
        )
