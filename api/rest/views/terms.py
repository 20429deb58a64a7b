"""`jobs/{number}/engine-handovers`; `engines/{number}/readings`, `/meter-changes` and `/term`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act, reading
from api.rest.serializers import terms as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import View, actor_of
from api.rest.views.engines import engine_of
from api.rest.views.parts import facts_of
from api.rest.views.trace import ON_DAY, day
from kits.queries.terms import readings_record, term_record
from kits.services.terms import change_meter, hand_engine_over, read_meter, withdraw_meter_reading

_METER = ("dates-turned", "not-found", "reading-asked", "reason-missing")


class JobEngineHandoversView(View):
    """`jobs/{number}/engine-handovers`."""

    acts = {"POST": "hand_engine_over"}

    @act(
        "jobs_engine_handovers_create",
        "Hand the engine of a closed job over to the customer: its term runs from that day",
        shapes.EngineHandoverInSerializer,
        shapes.EngineHandedOverSerializer,
        refusals=(
            "dates-turned",
            "handed-over-already",
            "job-not-closed",
            "lot-stopped",
            "not-found",
            "nothing-given",
            "reason-missing",
            "run-missing",
            "run-not-good",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Hand over."""
        return self.do(
            request,
            shapes.EngineHandoverInSerializer,
            lambda stamp, data: hand_engine_over(actor=actor_of(request), stamp=stamp, job=number, **facts_of(data)),
        )


class EngineReadingsView(View):
    """`engines/{number}/readings`."""

    acts = {"POST": "read_meter"}

    @reading(
        "engines_readings_read",
        "What the meters of an engine showed, were changed for, and ran in all",
        shapes.MeterReadingsSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """All readings."""
        return Response(readings_record(engine_of(number)))

    @act(
        "engines_readings_create",
        "Record what a meter shows at arrival, hand-over or claim. Lower than before, or without a photograph: it is asked, and "
        "stands once it is confirmed with its reason",
        shapes.MeterReadingInSerializer,
        shapes.MeterReadingMadeSerializer,
        refusals=_METER,
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.MeterReadingInSerializer,
            lambda stamp, data: read_meter(actor=actor_of(request), stamp=stamp, engine=number, **facts_of(data)),
        )


class MeterReadingWithdrawalsView(View):
    """`engines/{number}/readings/{id}/withdrawals`."""

    acts = {"POST": "read_meter"}

    @act(
        "engines_readings_withdraw",
        "A meter's reading or change turned out wrong, what was said at booking too: it stays with the reason, and never counted",
        ReasonSerializer,
        shapes.MeterReadingWithdrawnSerializer,
        refusals=("not-found", "reason-missing", "withdrawn-already"),
    )
    def post(self, request: Request, number: str, one: int) -> Response:
        """Withdraw."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: withdraw_meter_reading(
                actor=actor_of(request), stamp=stamp, engine=number, reading_id=one, reason=data["reason"]
            ),
        )


class EngineMeterChangesView(View):
    """`engines/{number}/meter-changes`."""

    acts = {"POST": "read_meter"}

    @act(
        "engines_meter_changes_create",
        "Record that a meter was changed: the running total goes on over it",
        shapes.MeterChangeInSerializer,
        shapes.MeterReadingMadeSerializer,
        refusals=_METER,
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.MeterChangeInSerializer,
            lambda stamp, data: change_meter(actor=actor_of(request), stamp=stamp, engine=number, **facts_of(data)),
        )


class EngineTermView(View):
    """`engines/{number}/term`."""

    parameters = ("on",)

    @reading(
        "engines_term_read",
        "Whether a day lies inside the term of an engine: months, hours and distance, each with its reason",
        shapes.TermSerializer,
        refusals=("not-found",),
        parameters=(ON_DAY,),
    )
    def get(self, request: Request, number: str) -> Response:
        """Inside or not."""
        on = day(request, "on")
        return Response(term_record(engine_of(number), on))
