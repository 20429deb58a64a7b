"""`gauges`, their calibrations, studies and withdrawals."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import AMOUNTS, act, reading
from api.rest.serializers import gauges as shapes
from api.rest.serializers.common import ReasonSerializer
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from api.rest.views.trace import today
from kits.queries import gauges as read
from kits.services import gauges as services


class GaugeFilters(filters.StrictFilterSet):
    """Filters of gauges."""

    site = filters.text("site__code", "at this site")
    kind = filters.text("kind", "of exactly this kind")
    measures = filters.choice("measures", read.MEASURED, "what it measures")


class GaugesView(ListView):
    """`gauges`."""

    acts = {"POST": "gauge"}
    filterset_class = GaugeFilters
    orderings = ("number", "pk")

    def rows(self) -> QuerySet[Any]:
        """All gauges."""
        return read.gauges()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records, as they stand today."""
        now = today()
        return [read.record(row, now) for row in rows]

    @reading("gauges_list", "Gauges and how each stands today", shapes.GaugeSerializer(many=True), filtered=True)
    def get(self, request: Request) -> Response:
        """A page of gauges."""
        return self.page(request)

    @act(
        "gauges_create",
        "Enter a gauge in the register",
        shapes.GaugeInSerializer,
        shapes.GaugeMadeSerializer,
        refusals=(*AMOUNTS, "gauge-known", "gauge-unusable", "not-found", "nothing-given"),
    )
    def post(self, request: Request) -> Response:
        """A new gauge."""
        return self.do(
            request,
            shapes.GaugeInSerializer,
            lambda stamp, data: services.enter_gauge(
                actor=actor_of(request), stamp=stamp, gauge=services.GaugeIn(**facts_of(data))
            ),
        )


class GaugeView(View):
    """`gauges/{number}`."""

    @reading(
        "gauges_read",
        "A gauge with its calibrations, its newest study and how it stands today",
        shapes.GaugeDetailSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """One gauge."""
        return Response(read.full_record(read.gauge(number), today()))


class GaugeCalibrationsView(View):
    """`gauges/{number}/calibrations`."""

    acts = {"POST": "gauge"}

    @act(
        "gauges_calibrations_create",
        "Record that a gauge was held against a master; the newest says whether it is in date",
        shapes.CalibrationInSerializer,
        shapes.CalibrationMadeSerializer,
        refusals=(*AMOUNTS, "dates-turned", "gauge-unusable", "gauge-withdrawn", "not-found", "nothing-given"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Record."""
        return self.do(
            request,
            shapes.CalibrationInSerializer,
            lambda stamp, data: services.record_calibration(
                actor=actor_of(request),
                stamp=stamp,
                gauge=number,
                calibration=services.CalibrationIn(**facts_of(data)),
            ),
        )


class GaugeWithdrawalsView(View):
    """`gauges/{number}/withdrawals`."""

    acts = {"POST": "gauge"}

    @act(
        "gauges_withdrawals_create",
        "A gauge is lost, damaged or worn out; it stays on the register",
        ReasonSerializer,
        shapes.GaugeWithdrawnSerializer,
        refusals=("gauge-withdrawn", "not-found", "reason-missing"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Withdraw."""
        return self.do(
            request,
            ReasonSerializer,
            lambda stamp, data: services.withdraw_gauge(
                actor=actor_of(request), stamp=stamp, gauge=number, reason=data["reason"]
            ),
        )


class GaugeStudiesView(View):
    """`gauges/{number}/studies`."""

    acts = {"POST": "gauge"}

    @act(
        "gauges_studies_create",
        "A repeatability study: how much of what is read comes from the gauge and the people",
        shapes.StudyInSerializer,
        shapes.StudyMadeSerializer,
        refusals=(*AMOUNTS, "gauge-withdrawn", "not-found", "study-unbalanced", "study-unusable"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Keep and compute."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            rows = [services.StudyIn(**one) for one in data["readings"]]
            tolerance = data.get("tolerance", "")
            return services.study_gauge(
                actor=actor_of(request), stamp=stamp, gauge=number, readings=rows, tolerance=tolerance
            )

        return self.do(request, shapes.StudyInSerializer, service)
