"""`safety-sheets`, `safety-sheet-readings`, `parts/{number}/safety-sheets`."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import act, reading
from api.rest.serializers import safety as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.parts import facts_of
from inventory.queries.safety_sheets import chemicals, safety_sheets_of
from inventory.services.safety_sheets import enter_safety_sheet, sign_safety_sheets


class SafetySheetsView(View):
    """`safety-sheets`."""

    @reading(
        "safety_sheets_list",
        "Every chemical of the catalogue with its newest safety data sheet and who read it; without one it is not issued",
        shapes.ChemicalsSerializer,
    )
    def get(self, request: Request) -> Response:
        """All of them."""
        return Response({"chemicals": chemicals()})


class SafetySheetReadingsView(View):
    """`safety-sheet-readings`."""

    acts = {"POST": "sign_safety_sheet"}

    @act(
        "safety_sheets_sign",
        "Sign that one has read the newest safety data sheets of these parts: only then are they handed over to one",
        shapes.SafetySheetsReadInSerializer,
        shapes.SafetySheetsReadSerializer,
        refusals=("not-found", "nothing-changed", "nothing-given", "safety-sheet-missing"),
    )
    def post(self, request: Request) -> Response:
        """Signed."""
        return self.do(
            request,
            shapes.SafetySheetsReadInSerializer,
            lambda stamp, data: sign_safety_sheets(actor=actor_of(request), stamp=stamp, **facts_of(data)),
        )


class PartSafetySheetsView(View):
    """`parts/{number}/safety-sheets`."""

    acts = {"POST": "catalogue"}

    @reading(
        "parts_safety_sheets_list",
        "Safety data sheets of a part, the newest first, each with who signed that they read it",
        shapes.PartSafetySheetsSerializer,
        refusals=("not-found",),
    )
    def get(self, request: Request, number: str) -> Response:
        """All revisions."""
        return Response(safety_sheets_of(number))

    @act(
        "parts_safety_sheets_create",
        "Enter where the safety data sheet of a chemical is, and when it was issued; a newer one is read and signed anew",
        shapes.SafetySheetInSerializer,
        shapes.SafetySheetEnteredSerializer,
        refusals=("not-found", "safety-sheet-unusable"),
    )
    def post(self, request: Request, number: str) -> Response:
        """A new revision."""
        return self.do(
            request,
            shapes.SafetySheetInSerializer,
            lambda stamp, data: enter_safety_sheet(actor=actor_of(request), stamp=stamp, part=number, **facts_of(data)),
        )
