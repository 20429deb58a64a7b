"""One good request for each operation about the lists themselves: lines that were doubted."""

from __future__ import annotations

from inventory.models import Person
from tests.api.contract.rebuilds import Make
from tests.api.contract.shops import Good
from tests.api.rest.rebuilds import rebuild


def _line_doubted(actor: Person) -> Good:
    its = rebuild().booked()
    said = {"part": "RING", "amount": 1, "reason": "wrong on list"}
    for _ in range(3):
        its.did(its.technician, "jobs/J-1/extras", said)
    return Good({"code": "T1"})


def _line_reviewed(actor: Person) -> Good:
    _line_doubted(actor)
    return Good({"code": "T1"}, body={"line": "T1-ring", "word": "the list is right"})


GOOD_LISTS: dict[str, Make] = {
    "line_reviews_read": _line_doubted,
    "procedures_line_reviews_read": _line_doubted,
    "procedures_line_reviews_create": _line_reviewed,
}
