"""Writing choices of a job: the words are kept, and holds of candidates that they do not take are given up.

Private to services: an open transaction is there, the job is locked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, HoldEnd
from inventory.queries.days import shop_day
from inventory.services import holding, things
from kits.domain.buying_in import to_be_named
from kits.domain.repaired_threads import repair_at
from kits.domain.settled import BUY_IN
from kits.models import Job, JobChoice
from kits.queries.by_notice import stands_in
from kits.queries.job_list import JobList, job_list
from kits.queries.served import promises_of
from kits.services.shared import refuse_unsorted

#: What an alternative begins with that names a part.
PART = "part:"


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
    listed = job_list(job, shop_day(act.occurred_at))
    for one in words:
        _check(listed, one)
    return _release_others(act, listed, words)


def _check(listed: JobList, word: Word) -> None:
    _check_followed(listed, word)
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


def _check_followed(listed: JobList, word: Word) -> None:
    """A part that a person names for a position is what the list asks for there, unless more has to be decided first; a buy-in is
    chosen where there is one."""
    if word.alternative == BUY_IN and all(
        one.kind != "buy-in" or one.position != word.place for one in listed.conflicts
    ):
        raise DomainError(
            "choice-not-candidate",
            f"No listed part stands beside something to be bought in at {word.place}.",
            choice="",
            place=word.place,
            alternative=word.alternative,
        )
    if word.choice or not word.alternative.startswith(PART):
        return
    number = word.alternative.removeprefix(PART)
    there = [line.part for line in listed.settled.lines if line.position == word.place]
    asked = any(one.position == word.place and one.needs_person for one in listed.conflicts)
    if there and number not in there and not asked:
        raise DomainError(
            "choice-not-candidate",
            f"{number} is not taken for {there[0]} at {word.place} alone: in whole pieces one does not become the other there.",
            ways_out=("Enter a newer revision of the procedure, which asks for it.",),
            choice="",
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


def check_part(act: Act, job: Job, choice: str, place: str, number: str) -> None:
    """A part that is named stands on the list there, stands in for one that does by the replacements, or goes into the insert in the hole
    there; DomainError "not-found" for a number that is not in the catalogue."""
    part = things.parts_by_number([number])[number]
    listed = job_list(job, shop_day(act.occurred_at), stock=False)
    if not choice and to_be_named(listed.scope.unnamed(), place, listed.scope.recorded):
        refuse_unsorted([part])
        if part.base != "piece":
            raise DomainError(
                "choice-not-candidate",
                f"{number} is no single part: it cannot be bought in for {place}.",
                choice=choice,
                place=place,
                alternative=f"{PART}{number}",
            )
        return
    inside = listed.scope.family.map.outward
    asked = {
        candidate.part
        for key, requirement in listed.explosion.requirements.items()
        if place in inside(key[0])
        for candidate in requirement.candidates
        if not choice or candidate.choice == choice
    }
    repair = repair_at(listed.scope.family.sizes, listed.scope.sizes, place, listed.scope.family.map)
    asked |= set(repair.parts if repair is not None else ())
    if number not in asked and not any(stands_in(job.engine, one, part) for one in sorted(asked)):
        raise DomainError(
            "choice-not-candidate",
            f"{number} does not stand in for {', '.join(sorted(asked)) or 'anything'} at {place}"
            f" of {job.engine.number}: no replacement says so.",
            choice=choice,
            place=place,
            alternative=f"{PART}{number}",
        )
