"""`certificates` with their files, `sample-plans`, `lot-inspections`."""

from __future__ import annotations

from base64 import b64encode
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.utils.http import content_disposition_header
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest import filters
from api.rest.schema import act, reading
from api.rest.serializers import certificates as shapes
from api.rest.shapes import shape, values
from api.rest.views.base import ListView, View, actor_of
from api.rest.views.parts import facts_of
from inventory.domain.certificates import BEGINS
from inventory.queries import certificates as read
from inventory.queries import inspections
from inventory.services.certificates import enter_certificate, lay_certificate
from inventory.services.inspections import inspect_lot, set_sample_plan


class CertificateFilters(filters.StrictFilterSet):
    """Filters of certificates."""

    supplier = filters.text("supplier__code", "of this supplier")
    number = filters.text("number", "with this number")
    heat = filters.text("heat", "of this heat or batch")
    part = filters.text("links__lot__part__number", "laid beside a lot of this part", distinct=True)
    lot = filters.text("links__lot__code", "laid beside a lot with this code", distinct=True)


class CertificatesView(ListView):
    """`certificates`."""

    acts = {"POST": "certificate"}
    filterset_class = CertificateFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All certificates; the newest come first."""
        return read.certificates()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records, without the files."""
        return [values(row) for row in read.rendered_certificates(rows)]

    @reading(
        "certificates_list",
        "Certificates with the lots they were laid beside; the newest first",
        shape(read.CertificateRow)(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of certificates."""
        return self.page(request)

    @act(
        "certificates_create",
        "Keep a certificate with its file, beside its lots; a lot that it does not speak of is stopped",
        shapes.CertificateInSerializer,
        shapes.CertificateMadeSerializer,
        refusals=(
            "certificate-known",
            "file-unusable",
            "not-found",
            "nothing-given",
            "too-many-lines",
            "wrong-supplier",
        ),
    )
    def post(self, request: Request) -> Response:
        """Keep."""
        return self.do(
            request,
            shapes.CertificateInSerializer,
            lambda stamp, data: enter_certificate(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class CertificateFileView(View):
    """`certificates/{id}/file`."""

    def perform_content_negotiation(self, request: Request, force: bool = False) -> Any:
        """The file is as it was entered, whatever is asked for; what is refused is JSON."""
        return JSONRenderer(), JSONRenderer.media_type

    @reading("certificates_file_read", "The file of a certificate", None, refusals=("not-found",), files=sorted(BEGINS))
    def get(self, request: Request, number: int) -> HttpResponse:
        """To be kept, never opened in the page: it came from outside."""
        found, content = read.file_of(number)
        answer = HttpResponse(content, content_type=found.content_type)
        answer["Content-Disposition"] = _attachment(found.filename)
        answer["X-Content-Type-Options"] = "nosniff"
        answer["Repr-Digest"] = f"sha-256=:{b64encode(bytes.fromhex(found.file_id)).decode()}:"  # RFC 9530
        return answer


def _attachment(filename: str) -> str:
    return str(content_disposition_header(as_attachment=True, filename=filename))


class CertificateLotsView(View):
    """`certificates/{id}/lots`."""

    acts = {"POST": "certificate"}

    @act(
        "certificates_lots_create",
        "Lay a certificate beside more lots; one that it does not speak of is stopped",
        shapes.CertificateLotsInSerializer,
        shapes.CertificateLaidSerializer,
        refusals=("not-found", "nothing-given", "too-many-lines", "wrong-supplier"),
    )
    def post(self, request: Request, number: int) -> Response:
        """Lay beside."""
        return self.do(
            request,
            shapes.CertificateLotsInSerializer,
            lambda stamp, data: lay_certificate(
                actor=actor_of(request), stamp=stamp, certificate=number, **facts_of(data)
            ),
        )


class SamplePlanFilters(filters.StrictFilterSet):
    """Filters of sample plans."""

    part = filters.text("part__number", "of this part")
    supplier = filters.text("supplier__code", "for lots of this supplier only")


class SamplePlansView(ListView):
    """`sample-plans`."""

    acts = {"POST": "catalogue"}
    filterset_class = SamplePlanFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All plans; the newest of a part and supplier counts."""
        return inspections.plans()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [values(row) for row in inspections.rendered_plans(rows)]

    @reading(
        "sample_plans_list",
        "How lots of parts are sampled when they come in; the newest first, which counts",
        shape(inspections.PlanRow)(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of plans."""
        return self.page(request)

    @act(
        "sample_plans_create",
        "Set how many pieces of each lot of a part are looked at, and how many may be bad",
        shapes.SamplePlanInSerializer,
        shapes.SamplePlanMadeSerializer,
        refusals=("not-found", "part-unusable", "sample-unusable"),
    )
    def post(self, request: Request) -> Response:
        """Set."""
        return self.do(
            request,
            shapes.SamplePlanInSerializer,
            lambda stamp, data: set_sample_plan(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class LotInspectionFilters(filters.StrictFilterSet):
    """Filters of inspections."""

    part = filters.text("lot__part__number", "of this part")
    lot = filters.text("lot__code", "of lots with this code")


class LotInspectionsView(ListView):
    """`lot-inspections`."""

    acts = {"POST": "inspect_lot"}
    filterset_class = LotInspectionFilters
    orderings = ("-pk", "pk")

    def rows(self) -> QuerySet[Any]:
        """All inspections; the newest come first."""
        return inspections.inspections()

    def render(self, rows: list[Any], request: Request) -> list[Any]:
        """Records."""
        return [values(row) for row in inspections.rendered_inspections(rows)]

    @reading(
        "lot_inspections_list",
        "What samples of delivered lots were like; the newest first",
        shape(inspections.InspectionRow)(many=True),
        filtered=True,
    )
    def get(self, request: Request) -> Response:
        """A page of inspections."""
        return self.page(request)

    @act(
        "lot_inspections_create",
        "Record what a sample of a delivered lot was like; a lot that fails is stopped wherever it lies",
        shapes.LotInspectionInSerializer,
        shapes.LotInspectedSerializer,
        refusals=("dates-turned", "done-already", "not-found", "sample-plan-missing", "sample-unusable", "stopped"),
    )
    def post(self, request: Request) -> Response:
        """Inspect."""
        return self.do(
            request,
            shapes.LotInspectionInSerializer,
            lambda stamp, data: inspect_lot(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )
