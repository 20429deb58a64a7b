"""`jobs/{number}/extra-hours` and their `reversals`; they are read with `jobs/{number}/approvals`."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, act
from api.rest.serializers import extra_hours as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import ON_JOB
from api.rest.views.parts import facts_of
from inventory.queries.people import person_by_login
from kits.services.extra_hours import enter_hours, reverse_hours


class JobExtraHoursView(View):
    """`jobs/{number}/extra-hours`."""

    acts = {"POST": "extra_hours"}

    @act(
        "jobs_extra_hours_create",
        "So long somebody worked on a finding of extra work; above the hours that the owner agreed to it is refused",
        shapes.HoursInSerializer,
        shapes.HoursMadeSerializer,
        refusals=(
            *ON_JOB, *AMOUNTS, "dates-turned", "hours-over-limit", "not-extra-work", "owner-not-asked", "withdrawn-already",
        ),
    )  # fmt: skip
    def post(self, request: Request, number: str) -> Response:
        """Enter."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            person = person_by_login(facts.pop("person"))
            return enter_hours(actor=actor_of(request), stamp=stamp, job=number, person=person, **facts)

        return self.do(request, shapes.HoursInSerializer, service)


class ExtraHoursReversalsView(View):
    """`jobs/{number}/extra-hours/{id}/reversals`."""

    acts = {"POST": "extra_hours"}

    @act(
        "jobs_extra_hours_reversals_create",
        "An entry of hours was wrong: it counts for nothing from now on, and stays to be read",
        ReasonSerializer,
        shapes.HoursReversedSerializer,
        refusals=(*ON_JOB, "reason-missing", "withdrawn-already"),
    )
    def post(self, request: Request, number: str, entry: int) -> Response:
        """Reverse."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: reverse_hours(
                actor=actor_of(request), stamp=stamp, job=number, entry=entry, reason=data["reason"]
            ),
        )
