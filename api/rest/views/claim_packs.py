"""`claims/{id}/pack`: everything on record about a claim, as JSON or as sheets to print."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.paper import laid_out
from api.rest.schema import reading
from api.rest.serializers.claim_packs import ClaimPackSerializer
from api.rest.shapes import values
from api.rest.views.printed import FORMAT, PrintedView
from api.rest.views.trace import today
from kits.domain.claim_sheets import contents_of
from kits.queries.claim_pack import claim_pack, sheets_of
from kits.queries.owner_claims import claim_by_number


class ClaimPackView(PrintedView):
    """`claims/{id}/pack`."""

    page_template = "claim_pack.html"

    def on_paper(self, data: Any) -> Any:
        """Its sections on sheets, each on its own, after the contents."""
        sections = sheets_of(data)
        laid = laid_out(sections, contents_of(sections))
        claim = data["claim"]
        told = {name: claim[name] for name in ("claim", "engine", "job", "told_on", "state")}
        return {
            **told, "made_on": data["made_on"], "contents": laid.contents, "sheets": laid.sheets, "pages": laid.pages,
        }  # fmt: skip

    @reading(
        "claims_pack_read",
        "The pack of a claim: contents, claim, job card, positions as built and what came out since, readings, verdicts, gauges, lots with"
        " their certificates, photographs, torques as quoted, tests, signatures, and what is missing; or the sheets to print",
        ClaimPackSerializer,
        refusals=("not-found",),
        parameters=(FORMAT,),
        printed=True,
        amounts=True,
    )
    def get(self, request: Request, claim: int) -> Response:
        """The pack."""
        pack = claim_pack(claim_by_number(claim), today())
        sheet = pack["build_sheet"] | {"readings": values(pack["build_sheet"]["readings"])}
        return Response({name: values(part) for name, part in pack.items()} | {"build_sheet": sheet})
