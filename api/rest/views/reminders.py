"""`reminders` of the shop, `jobs/{number}/reminders`, and `service-letters` to owners."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import reading
from api.rest.serializers.reminders import RemindersSerializer, ServiceLettersSerializer
from api.rest.views.base import View
from api.rest.views.jobs import LISTING
from api.rest.views.trace import ON_DAY, day
from kits.queries.reminders import reminders_on
from kits.queries.scope import job_by_number
from kits.queries.service_due import service_letters


class RemindersView(View):
    """`reminders`."""

    parameters = ("on",)

    @reading(
        "reminders_read",
        "What is late on a day in all booked jobs: candidates and tools not back, holds lapsed, work outside, the owner's word, plugs out, work after the first run",
        RemindersSerializer,
        refusals=LISTING,
        parameters=(ON_DAY,),
    )
    def get(self, request: Request) -> Response:
        """All of the shop."""
        on = day(request, "on")
        return Response({"on": on, "reminders": reminders_on(on)})


class JobRemindersView(View):
    """`jobs/{number}/reminders`."""

    parameters = ("on",)

    @reading(
        "jobs_reminders_read",
        "What is late on a day in one job",
        RemindersSerializer,
        refusals=("not-found", *LISTING),
        parameters=(ON_DAY,),
    )
    def get(self, request: Request, number: str) -> Response:
        """Of this job."""
        on = day(request, "on")
        return Response({"on": on, "reminders": reminders_on(on, job_by_number(number))})


class ServiceLettersView(View):
    """`service-letters`."""

    acts = {"GET": "see_owner"}
    parameters = ("on",)

    @reading(
        "service_letters_read",
        "Letters to the owners of engines that are not back though work after their first run is past its day",
        ServiceLettersSerializer,
        refusals=("not-allowed",),
        parameters=(ON_DAY,),
    )
    def get(self, request: Request) -> Response:
        """Every letter of the day."""
        on = day(request, "on")
        return Response({"on": on, "letters": service_letters(on)}, headers={"Cache-Control": "no-store"})
