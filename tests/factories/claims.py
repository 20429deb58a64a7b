"""A claim on the small engine of the workshop, for tests that need one in the books. Its job is closed by the row."""

from __future__ import annotations

from typing import Any

from kits.models import Job
from kits.services.claim_entries import answer_claim, state_cause
from kits.services.owner_claims import enter_claim
from tests.factories.acts import done
from tests.factories.stores import NOON

CAUSE: dict[str, Any] = {
    "cause": "ring rolled in fitting",
    "found_by": "inspector",
    "evidence": "flat outside, photo 9",
}
ANSWER: dict[str, Any] = {"answer": "accepted", "reason": "our work"}


def claimed(job: Job, **more: Any) -> int:
    """The number of a claim on the work of a job; the engine was not handed over."""
    Job.objects.filter(pk=job.pk).update(state=Job.State.CLOSED)
    said = {"told_on": NOON.date(), "told_by": "owner", "what": "coolant in the oil"} | more
    body = done(enter_claim, engine=job.engine.number, job=job.number, **said)
    return int(body["claim"])


def decided(job: Job) -> int:
    """As `claimed`, with its cause and its answer: it can be closed."""
    claim = claimed(job)
    done(state_cause, claim=claim, **CAUSE)
    done(answer_claim, claim=claim, **ANSWER)
    return claim
