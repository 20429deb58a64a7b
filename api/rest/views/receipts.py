"""`receipts`: supplier to shelf or quarantine."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.schema import AMOUNTS, MOVEMENTS, act
from api.rest.serializers.receipts import ReceiptInSerializer, ReceiptSerializer
from api.rest.views.base import View, actor_of
from api.rest.views.parts import facts_of
from inventory.domain.shelf_life import Basis
from inventory.services.receive import ReceiveLine, SetLabel, receive
from inventory.services.run import Done, Stamp


class ReceiptsView(View):
    """`receipts`."""

    acts = {"POST": "receive"}

    @act(
        "receipts_create",
        "Receive a delivery, against an order where there is one; all of it or, if any line is refused, nothing",
        ReceiptInSerializer,
        ReceiptSerializer,
        refusals=(
            *AMOUNTS,
            *MOVEMENTS,
            "cure-date-future",
            "cure-date-unreadable",
            "dates-turned",
            "job-ended",
            "life-rule-unreadable",
            "label-differs",
            "lot-differs",
            "lot-missing",
            "not-found",
            "not-in-kit",
            "nothing-given",
            "number-known",
            "part-number-unreadable",
            "part-unusable",
            "quarantine-needed",
            "reason-missing",
            "safety-sheet-missing",
            "serial-is-one",
            "serial-missing",
            "serial-not-kept",
            "set-broken",
            "storage-unsuitable",
            "too-many-lines",
            "part-withdrawn",
            "undated",
            "wrong-part",
            "wrong-place",
            "wrong-supplier",
            "weight-unsaid",
        ),
    )
    def post(self, request: Request) -> Response:
        """Receive."""

        def service(stamp: Stamp, data: dict[str, Any]) -> Done:
            facts = facts_of(data)
            lines = [_line(line) for line in facts.pop("lines")]
            if "basis" in facts:
                facts["basis"] = Basis(facts["basis"])
            return receive(actor=actor_of(request), stamp=stamp, lines=lines, **facts)

        return self.do(request, ReceiptInSerializer, service)


def _line(data: dict[str, Any]) -> ReceiveLine:
    label = data.pop("set_label", None)
    return ReceiveLine(**data, set_label=SetLabel(**label) if label is not None else None)
