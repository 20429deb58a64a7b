"""`jobs/{number}/piston-checks`, `/leak-tests`, `/first-runs`, `/after-run-work`, `/build-sheet`; `sites/{code}/checkers`."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import build as shapes
from api.rest.shapes import values
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import ON_JOB
from api.rest.views.parts import facts_of
from api.rest.views.printed import FORMAT, PrintedView
from api.rest.views.scope import by_name
from api.rest.views.trace import ON, day, whole
from inventory.queries.people import person_by_login
from kits.queries.build import checkers_at
from kits.queries.build_sheet import build_sheet
from kits.queries.scope import job_by_number
from kits.services.build import (
    DutyIn,
    PistonIn,
    name_checkers,
    record_after_run,
    record_first_run,
    record_leak_test,
    record_piston_checks,
)

HOURS = OpenApiParameter(
    "hours", OpenApiTypes.INT, description="Running hours since the first run, for what is late by hours."
)


class JobPistonChecksView(View):
    """`jobs/{number}/piston-checks`."""

    acts = {"POST": "check"}

    @act(
        "jobs_piston_checks_create",
        "A second person looks at pistons after they were fitted: what is not named good keeps the job open",
        shapes.PistonChecksInSerializer,
        shapes.PistonChecksMadeSerializer,
        refusals=(
            *ON_JOB,
            "check-item-unknown",
            "may-not-check",
            "not-on-duty",
            "nothing-given",
            "position-empty",
            "position-unknown",
            "same-person",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Check."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            checks = [PistonIn(**one) for one in data["checks"]]
            return record_piston_checks(actor=actor_of(request), stamp=stamp, job=number, checks=checks)

        return self.do(request, shapes.PistonChecksInSerializer, service)


class JobLeakTestsView(View):
    """`jobs/{number}/leak-tests`."""

    acts = {"POST": "test_engine"}

    @act(
        "jobs_leak_tests_create",
        "Record a pressure test of the water jacket; after a leak, all rings at that cylinder are scrap and named",
        shapes.LeakTestInSerializer,
        shapes.LeakTestMadeSerializer,
        refusals=(*ON_JOB, *AMOUNTS, "no-limit", "position-unknown"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.LeakTestInSerializer,
            lambda stamp, data: record_leak_test(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class JobFirstRunsView(View):
    """`jobs/{number}/first-runs`."""

    acts = {"POST": "test_engine"}

    @act(
        "jobs_first_runs_create",
        "Record the first run of the built engine, and who released it",
        shapes.FirstRunInSerializer,
        shapes.FirstRunMadeSerializer,
        refusals=(
            *ON_JOB,
            *AMOUNTS,
            "check-item-unknown",
            "dates-turned",
            "may-not-check",
            "not-on-duty",
            "reason-missing",
            "run-early",
            "run-not-good",
            "same-person",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            people: dict[str, Any] = {
                name: person_by_login(facts.pop(name)) for name in ("released_by", "signed_by") if name in facts
            }
            return record_first_run(
                actor=actor_of(request),
                stamp=stamp,
                job=number,
                values=by_name(facts.pop("values"), "name", "value", "values"),
                **people,
                **facts,
            )

        return self.do(request, shapes.FirstRunInSerializer, service)


class JobAfterRunView(View):
    """`jobs/{number}/after-run-work`."""

    acts = {"POST": "test_engine"}

    @act(
        "jobs_after_run_work_create",
        "Work that fell due after the first run was done",
        shapes.AfterRunInSerializer,
        shapes.AfterRunMadeSerializer,
        refusals=(*ON_JOB, "check-item-unknown", "dates-turned", "done-already", "run-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.AfterRunInSerializer,
            lambda stamp, data: record_after_run(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class JobBuildSheetView(PrintedView):
    """`jobs/{number}/build-sheet`."""

    parameters = ("on", "hours", "format")
    page_template = "build_sheet.html"

    @reading(
        "jobs_build_sheet_read",
        "What went in, position by position, who fitted and checked, what was tested, what falls due",
        shapes.BuildSheetSerializer,
        refusals=("not-found",),
        parameters=(ON, HOURS, FORMAT),
        amounts=True,
        printed=True,
    )
    def get(self, request: Request, number: str) -> Response:
        """The sheet."""
        sheet = build_sheet(job_by_number(number), day(request, "on"), whole(request, "hours"))
        return Response(sheet | {"readings": values(sheet["readings"])})


class SiteCheckersView(View):
    """`sites/{code}/checkers`."""

    acts = {"POST": "name_checker"}
    parameters = ("on",)

    @reading(
        "sites_checkers_read",
        "Who checks at a site, and who may on a day",
        shapes.CheckersSerializer,
        refusals=("not-found",),
        parameters=(ON,),
    )
    def get(self, request: Request, code: str) -> Response:
        """Who checks."""
        return Response(checkers_at(code, day(request, "on")))

    @act(
        "sites_checkers_create",
        "Say who checks at a site and on which weekdays, and who stands in; replaces what was said before",
        shapes.CheckersInSerializer,
        shapes.CheckersMadeSerializer,
        refusals=("duty-unreadable", "may-not-check", "not-found"),
    )
    def post(self, request: Request, code: str) -> Response:
        """Say."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            named = [DutyIn(**one | {"person": person_by_login(one["person"])}) for one in data["checkers"]]
            return name_checkers(actor=actor_of(request), stamp=stamp, site=code, checkers=named)

        return self.do(request, shapes.CheckersInSerializer, service)
