"""One good request for each operation of lending, every ring being held for J-2 and J-1 needing one; and for what is found on a cart."""

from __future__ import annotations

from django.utils import timezone

from inventory.models import Person
from kits.services.lending import answer_to_lend, lend
from tests.api.contract.rebuilds import JOB, Make, brought_to
from tests.api.contract.shops import Good
from tests.api.rest.rebuilds import Rebuild, job_body
from tests.factories.stores import stamp


def _held() -> tuple[Rebuild, int]:
    its = brought_to("booked")
    its.did(its.manager, "jobs", job_body(number="J-2", engine="T4-00212"))
    asked = {"part": "RING", "amount": "6 EA", "reason": "found after strip"}
    return its, int(its.did(its.manager, "jobs/J-2/extras", asked)["held"][0]["hold"])


def _asking(actor: Person) -> Good:
    its, hold = _held()
    words = {"asked_of": its.technician.person.username, "reason": "it is torn"}
    return Good(JOB, body={"hold": hold, "amount": "1 EA", **words})


def _asked(of: Person) -> int:
    its, hold = _held()
    words = {"hold": hold, "amount": "1 EA", "asked_of": of.username, "reason": "it is torn"}
    return int(its.did(its.manager, "jobs/J-1/loan-requests", words)["request"])


def _agreed(actor: Person) -> int:
    request = _asked(actor)
    answer_to_lend(actor=actor, stamp=stamp(timezone.now()), request=request, agreed=True)
    return request


def _lent(actor: Person) -> int:
    request = _agreed(actor)
    lend(actor=actor, stamp=stamp(timezone.now()), request=request)
    return request


def _listed(actor: Person) -> Good:
    _lent(actor)
    return Good(JOB)


def _found(actor: Person) -> Good:
    its = brought_to("booked")
    words = {"place": "R1", "reason": "lay on the cart", "extra_reason": "lost"}
    return Good(JOB, body={"item": its.item("RING"), "amount": "6 EA", **words})


GOOD_LOANS: dict[str, Make] = {
    "jobs_found_on_cart_create": _found,
    "jobs_loans_list": _listed,
    "jobs_loan_requests_create": _asking,
    "loan_requests_answers_create": lambda actor: Good({"asked": _asked(actor)}, body={"agreed": True}),
    "loan_requests_loans_create": lambda actor: Good({"asked": _agreed(actor)}, body={}),
    "loans_closings_create": lambda actor: Good({"loan": _lent(actor)}, body={"paid_back": False, "reason": "it tore"}),
    "loans_returns_create": lambda actor: Good({"loan": _lent(actor)}, body={"reason": "others came"}),
}
