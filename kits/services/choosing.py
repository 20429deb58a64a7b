"""What a choice of part does to holds on the parts that it does not take. Private to services: the job and its stock are locked."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.models import Act, HoldEnd
from inventory.services import holding
from kits.models import Job
from kits.queries.job_list import job_list
from kits.queries.served import promises_of


def release_others(act: Act, job: Job, choice: str, place: str, alternative: str) -> list[int]:
    """Hold the new choice against the list; end the open holds of candidates that it does not take."""
    listed = job_list(job)
    no = [one for one in listed.conflicts if one.kind in ("ruled-out", "not-a-candidate") and one.needs_person]
    inside = {key for key in listed.explosion.requirements if place in listed.scope.family.map.outward(key[0])}
    for one in no:
        if (one.position, one.make) in inside and choice:
            detail = f"{one.detail}; this engine is {job.engine.number}." if one.kind == "ruled-out" else one.detail
            raise DomainError("choice-not-candidate", detail, choice=choice, place=place, alternative=alternative[:60])
    taken = {(line.key, line.part) for line in listed.settled.lines}
    still_open = {key for one in listed.settled.open_choices for key in one.keys}
    others = [
        one.hold
        for one in promises_of(job)
        if one.open
        and one.on_approval
        and not any((share[:2], one.wanted) in taken or share[:2] in still_open for share in one.shares)
    ]
    holding.end(act, others, HoldEnd.How.RELEASED, f"{alternative} was chosen")
    return [hold.pk for hold in others]
