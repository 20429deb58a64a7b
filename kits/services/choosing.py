"""Writing choices of a job: the words are kept, and holds of candidates that they do not take are given up.

Private to services: an open transaction is there, the job is locked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, HoldEnd
from inventory.services import holding
from kits.models import Job, JobChoice
from kits.queries.job_list import JobList, job_list
from kits.queries.served import promises_of


@dataclass(frozen=True, slots=True)
class Word:
    """One choice over a place: see `JobChoice`."""

    choice: str
    place: str
    alternative: str


def lock_candidates(job: Job) -> None:
    """Lock what the choices may give up: the parts that are held on approval."""
    on_approval = [one.hold for one in promises_of(job) if one.open and one.on_approval]
    locks.scarcer((hold.item.part_id, job.site_id) for hold in on_approval)


def choose(act: Act, job: Job, words: Sequence[Word], reason: str) -> list[int]:
    """Write the words, hold them against the list, and end the open holds of candidates that they do not take; those holds' ids.

    `lock_candidates` came before. Raises DomainError "choice-not-candidate".
    """
    JobChoice.objects.bulk_create(
        [
            JobChoice(job=job, act=act, choice=one.choice, place=one.place, alternative=one.alternative, reason=reason)
            for one in words
        ]
    )
    listed = job_list(job)
    for one in words:
        _check(listed, one)
    return _release_others(act, listed, words)


def _check(listed: JobList, word: Word) -> None:
    no = [one for one in listed.conflicts if one.kind in ("ruled-out", "not-a-candidate") and one.needs_person]
    inside = {key for key in listed.explosion.requirements if word.place in listed.scope.family.map.outward(key[0])}
    for one in no:
        if (one.position, one.make) in inside and word.choice:
            number = listed.job.engine.number
            detail = f"{one.detail}; this engine is {number}." if one.kind == "ruled-out" else one.detail
            raise DomainError(
                "choice-not-candidate",
                detail,
                choice=word.choice,
                place=word.place,
                alternative=word.alternative[:60],
            )


def _release_others(act: Act, listed: JobList, words: Sequence[Word]) -> list[int]:
    taken = {(line.key, line.part) for line in listed.settled.lines}
    still_open = {key for one in listed.settled.open_choices for key in one.keys}
    others = [
        one.hold
        for one in promises_of(listed.job)
        if one.open
        and one.on_approval
        and not any((share[:2], one.wanted) in taken or share[:2] in still_open for share in one.shares)
    ]
    said = ", ".join(dict.fromkeys(word.alternative for word in words))
    holding.end(act, others, HoldEnd.How.RELEASED, f"{said} was chosen")
    return [hold.pk for hold in others]
