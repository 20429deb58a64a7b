"""A claim of an engine's owner: which job's work is claimed, how it stands, what keeps it open, what failed before.

A claim is a row that stays as it was told. What is known later comes in entries beside it: things named, cause, answer, end. Of causes
and answers the newest counts, and names the one that it takes the place of; those before it stay to be read.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.domain.errors import DomainError

OPEN, CLOSED, TAKEN_BACK, OPENED_AGAIN = "open", "closed", "taken back", "opened again"
STATES = (OPEN, CLOSED, TAKEN_BACK)
ACCEPTED, REFUSED, PART = "accepted", "refused", "part"
ANSWERS = (ACCEPTED, REFUSED, PART)


@dataclass(frozen=True, slots=True)
class JobDone:
    """A closed job of the engine. `handed_over_on`: None where no hand-over after it is on record; `new_term`: a term began with that."""

    number: str
    closed_on: date
    handed_over_on: date | None = None
    new_term: bool = True


@dataclass(frozen=True, slots=True)
class ThingIn:
    """A use position that a claim concerns, and what sat there.

    item_id   which it was; None: what the job fitted there and sat there when it was told, where that is one thing, else not known
    what      what is wrong with it; photo_ref: where its photograph is kept, empty: none
    """

    position: str
    item_id: int | None = None
    what: str = ""
    photo_ref: str = ""


def job_claimed(engine: str, jobs: Sequence[JobDone], on: date) -> str:
    """The job whose work is claimed where nobody names one: the last that was handed over by the day and began a term.

    jobs  the closed jobs of the engine, oldest first
    Raises DomainError "claim-job-unclear", which names the jobs it may be: none was handed over by then, two on the same day, the last
    was a rework inside an earlier term, or a later one was closed by then and no hand-over after it is on record.
    """
    out = [one for one in jobs if one.handed_over_on is not None and one.handed_over_on <= on]
    last = max((one.handed_over_on for one in out if one.handed_over_on), default=None)
    newest = [one for one in out if one.handed_over_on == last]
    since = [one.number for one in jobs if one.handed_over_on is None and last and last <= one.closed_on <= on]
    if len(newest) == 1 and newest[0].new_term and not since:
        return newest[0].number
    if not jobs:
        why = f"no job on engine {engine} is closed"
    elif not newest:
        why = f"after none of its jobs was engine {engine} handed over by {on}"
    elif len(newest) > 1:
        why = f"engine {engine} was handed over after {' and '.join(one.number for one in newest)} on the same day"
    elif since:
        why = f"after job {newest[0].number} was handed over, {' and '.join(since)} was closed, with no hand-over on record"
    else:
        why = f"job {newest[0].number}, handed over last, was a rework inside an earlier term"
    raise DomainError(
        "claim-job-unclear",
        f"Which job's work is claimed? {why[0].upper()}{why[1:]}.",
        ways_out=tuple(f"Name job {one.number}." for one in jobs),
        engine=engine,
        jobs=[one.number for one in jobs],
    )


def state_of(ends: Sequence[str]) -> str:
    """How a claim stands by its ends, oldest first: one that was opened again is open."""
    return OPEN if not ends or ends[-1] == OPENED_AGAIN else ends[-1]


def check_end(claim: int, now: str, what: str) -> None:
    """Whether an open claim may end so, or an ended one be opened again. Raises DomainError "claim-ended", "claim-open"."""
    if what == OPENED_AGAIN:
        if now == OPEN:
            raise DomainError("claim-open", f"Claim {claim} is open.", claim=claim)
        return
    check_open(claim, now)


def check_open(claim: int, now: str) -> None:
    """DomainError "claim-ended" for a claim that is closed or was taken back."""
    if now != OPEN:
        raise DomainError(
            "claim-ended",
            f"Claim {claim} is {now}.",
            ways_out=("Open the claim again, with the reason.",),
            claim=claim,
            state=now,
        )


def lacking(causes: int, answers: int) -> tuple[str, ...]:
    """What keeps a claim open, for a person."""
    return tuple(word for word, count in (("no cause is stated", causes), ("no answer is given", answers)) if not count)


def check_closing(claim: int, causes: int, answers: int) -> None:
    """A claim is closed with its cause and its answer. Raises DomainError "claim-cause-missing", "claim-answer-missing"."""
    if not causes:
        raise DomainError(
            "claim-cause-missing",
            f"Claim {claim} stays open: no cause is stated.",
            ways_out=("State the cause, by whom and on what evidence.", "Take the claim back, if it is none."),
            claim=claim,
        )
    if not answers:
        raise DomainError(
            "claim-answer-missing",
            f"Claim {claim} stays open: the owner has no answer.",
            ways_out=("Answer it: accepted, refused or part, with the reason.",),
            claim=claim,
        )


def check_instead(claim: int, what: str, standing: int | None, instead_of: int | None) -> None:
    """A further cause or answer names the one that stands, so that nobody replaces what they have not read.

    standing  id of the one that stands; instead_of: the one that was named. Raises DomainError "claim-entry-stands".
    """
    if instead_of == standing:
        return
    on_record = f"{what} {standing} stands" if standing is not None else f"no {what} is on record"
    raise DomainError(
        "claim-entry-stands",
        f"On claim {claim} {on_record}; {'none' if instead_of is None else instead_of} was named to be replaced.",
        ways_out=(f"Read the claim, and name {what} {standing} to be replaced.",) if standing is not None else (),
        claim=claim,
        standing=standing,
    )


def repeats(mine: Collection[str], earlier: Mapping[int, Collection[str]]) -> tuple[tuple[int, str], ...]:
    """(earlier claim, use position) for every position of a claim that failed before in the same engine.

    earlier  claims before it, not taken back, with their positions
    """
    return tuple((claim, place) for claim in sorted(earlier) for place in sorted(set(mine) & set(earlier[claim])))
