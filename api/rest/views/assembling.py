"""`parts/{number}/assemblies`: closed kits made up here from loose stock."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, MOVEMENTS, act
from api.rest.serializers import assembling as shapes
from api.rest.views.base import View, actor_of
from api.rest.views.parts import facts_of
from inventory.services.assemble_kit import LimbIn, assemble_kit


class PartAssembliesView(View):
    """`parts/{number}/assemblies`: the part is the kit."""

    acts = {"POST": "assemble"}

    @act(
        "parts_assemblies_create",
        "Make up closed boxes of a kit from loose stock of known lots; taken back by a correction while they are closed",
        shapes.AssemblyInSerializer,
        shapes.AssembledSerializer,
        refusals=(
            *AMOUNTS,
            *MOVEMENTS,
            "counted-twice",
            "expired",
            "kit-incomplete",
            "kit-loop",
            "kit-unusable",
            "lot-known",
            "lot-missing",
            "lot-unknown",
            "not-a-kit",
            "not-for-kit",
            "not-found",
            "not-in-kit",
            "nothing-given",
            "part-withdrawn",
            "serial-is-one",
            "stopped",
            "wrong-place",
        ),
    )
    def post(self, request: Request, number: str) -> Response:
        """Make up boxes."""

        def service(stamp: Any, data: dict[str, Any]) -> Any:
            facts = facts_of(data)
            limbs = [LimbIn(item_id=one.pop("item"), **one) for one in map(dict, facts.pop("contents"))]
            return assemble_kit(actor=actor_of(request), stamp=stamp, kit=number, contents=limbs, **facts)

        return self.do(request, shapes.AssemblyInSerializer, service)
