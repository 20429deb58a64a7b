"""`jobs/{number}/joints` with gates and beads, `parts/{number}/sheets`, `sealant-use`."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.fields import ActSerializer
from api.rest.problems import refuse
from api.rest.schema import MOVEMENTS, act, reading
from api.rest.serializers import sealing as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.jobs import LISTING, ON_JOB
from api.rest.views.parts import facts_of
from inventory.domain.product_sheets import read_humidity, read_temperature
from inventory.queries.people import person_by_login
from inventory.queries.sheets import sheets_of
from inventory.services.sheets import enter_sheet, sign_sheet
from kits.domain.curing import check_bay
from kits.queries.scope import job_by_number
from kits.queries.sealant_use import sealant_use
from kits.queries.sealing import joints_of
from kits.services.lay_bead import TubeUsed, lay_bead
from kits.services.open_gate import GateIn, TubeIn, open_gate

_TYPED = (
    "quantity-negative",
    "quantity-not-whole",
    "quantity-too-large",
    "quantity-unit-unknown",
    "quantity-unreadable",
    "quantity-wrong-dimension",
)
_WEIGHED = (*_TYPED, "tube-content-unknown", "weight-below-empty", "weight-too-large")
_BAY = [
    OpenApiParameter("temperature", OpenApiTypes.STR, description='Of the bay, "23 °C"; with humidity.'),
    OpenApiParameter("humidity", OpenApiTypes.STR, description='Of the bay, "50 %"; with temperature.'),
]


def _person(data: dict[str, Any], name: str) -> Any:
    login = data.get(name)
    return person_by_login(login) if login is not None else None


class PartSheetsView(View):
    """`parts/{number}/sheets`."""

    acts = {"POST": "catalogue"}

    @reading("parts_sheets_list", "Product sheets of a sealant, the newest first", shapes.SheetsSerializer,
             refusals=("not-found",))  # fmt: skip
    def get(self, request: Request, number: str) -> Response:
        """All revisions."""
        return Response(sheets_of(number))

    @act(
        "parts_sheets_create",
        "Enter the product sheet that came with a sealant; it holds from now on. A bead of it then needs its gate",
        shapes.SheetInSerializer,
        shapes.SheetEnteredSerializer,
        refusals=("not-found", "part-unusable", "sheet-unusable", "bay-unreadable", *_TYPED),
    )
    def post(self, request: Request, number: str) -> Response:
        """A new revision."""
        return self.do(
            request,
            shapes.SheetInSerializer,
            lambda stamp, data: enter_sheet(actor=actor_of(request), stamp=stamp, part=number, **facts_of(data)),
        )


class PartSheetReadingsView(View):
    """`parts/{number}/sheets/readings`."""

    acts = {"POST": "open"}

    @act(
        "parts_sheets_sign",
        "Sign that one has read the newest product sheet",
        ActSerializer,
        shapes.SheetSignedSerializer,
        refusals=("not-found", "nothing-changed"),
    )
    def post(self, request: Request, number: str) -> Response:
        """Signed."""
        return self.do(
            request,
            ActSerializer,
            lambda stamp, data: sign_sheet(actor=actor_of(request), stamp=stamp, part=number),
        )


class JobJointsView(View):
    """`jobs/{number}/joints`."""

    parameters = ("temperature", "humidity")

    @reading(
        "jobs_joints_list",
        "Joints that the job's list closes: draw, closing time against the sheet's window in this bay, warnings, gates, beads",
        shapes.JointsSerializer,
        refusals=("not-found", "bay-unreadable", "sealant-two-products", *_TYPED, *LISTING),
        parameters=_BAY,
    )
    def get(self, request: Request, number: str) -> Response:
        """The joints now."""
        typed = [request.query_params.get(name) for name in self.parameters]
        if (typed[0] is None) != (typed[1] is None):
            raise refuse("parameter-wrong", "Temperature and humidity of the bay go together.", parameter="humidity")
        bay = None
        if typed[0] is not None and typed[1] is not None:
            bay = read_temperature(typed[0]), read_humidity(typed[1])
            check_bay(*bay)
        return Response(joints_of(job_by_number(number), timezone.now(), bay))


class JointGatesView(View):
    """`jobs/{number}/joints/{joint}/gates`."""

    acts = {"POST": "fit"}

    @act(
        "jobs_joints_gates_create",
        "Answer the questions before the nozzle is cut; all yes: one bead may be laid",
        shapes.GateInSerializer,
        shapes.GateOpenedSerializer,
        refusals=(
            *ON_JOB,
            *LISTING,
            *_WEIGHED,
            "bay-unreadable",
            "gate-shut",
            "joint-unknown",
            "may-not-check",
            "not-on-duty",
            "not-on-list",
            "reason-missing",
            "same-person",
            "sealant-two-products",
            "stopped-by-maker",
            "substitute-not-agreed",
        ),
    )
    def post(self, request: Request, number: str, joint: str) -> Response:
        """The gate."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            names = ("faces_clean_dry", "test_fit", "dowels_in", "bolts", "temperature", "humidity")
            said = GateIn(
                tubes=[TubeIn(**one) for one in data["tubes"]], **{name: data[name] for name in names if name in data}
            )
            return open_gate(
                actor=actor_of(request), stamp=stamp, job=number, joint=joint, said=said, helper=_person(data, "helper"),
                signed_by=_person(data, "signed_by"), because=data.get("because", ""),
            )  # fmt: skip

        return self.do(request, shapes.GateInSerializer, service)


class JointBeadsView(View):
    """`jobs/{number}/joints/{joint}/beads`."""

    acts = {"POST": "fit"}

    @act(
        "jobs_joints_beads_create",
        "Record the bead of the open gate: start, end, tubes by weight. Over its time it is cleaned off and made again",
        shapes.BeadInSerializer,
        shapes.BeadLaidSerializer,
        refusals=(
            *ON_JOB,
            *MOVEMENTS,
            *_WEIGHED,
            "amount-negative",
            "amount-not-positive",
            "dates-turned",
            "gate-missing",
            "nothing-given",
            "same-person",
            "sealant-two-products",
        ),
    )
    def post(self, request: Request, number: str, joint: str) -> Response:
        """The bead."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            return lay_bead(
                actor=actor_of(request), stamp=stamp, job=number, joint=joint, started_at=data["started_at"],
                ended_at=data["ended_at"], tubes=[TubeUsed(**one) for one in data["tubes"]], helper=_person(data, "helper"),
            )  # fmt: skip

        return self.do(request, shapes.BeadInSerializer, service)


class SealantUseView(View):
    """`sealant-use`."""

    parameters = ("procedure",)

    @reading(
        "sealant_use_read",
        "Sealant planned against used, joint by joint; the shop's own waste with its range; bought less joints and scrap is in tubes",
        shapes.SealantUseSerializer,
        refusals=("not-found",),
        parameters=[OpenApiParameter("procedure", OpenApiTypes.STR, description="Joints that this procedure closes.")],
    )
    def get(self, request: Request) -> Response:
        """Use so far."""
        return Response(sealant_use(request.query_params.get("procedure", "")))
