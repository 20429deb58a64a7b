"""Why a part that somebody has in the hand, or asks for, is not what a job wants."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from inventory.models import Part
from kits.domain.choices import numbers_of, why_not
from kits.models import Job
from kits.queries.by_notice import number_sentence, shut_out
from kits.queries.job_list import JobList, job_list
from kits.queries.scanned import parts_scanned

#: What the refusal of a scan asks: the text that was scanned, the id of the line's part → a sentence, empty where none is known.
Reason = Callable[[str, int], str]
#: So many wrong scans of one pick are looked into: more than a cart has of other parts, and each costs a dozen queries.
LOOKED_INTO = 24


def by_number(listed: JobList, part: Part) -> str:
    """The engine numbers, in words, that a part goes into by the parts lines or by a replacement notice; empty unless they shut
    this engine out.

    Of an engine that was changed in the field its number does not decide. Two queries at most.
    """
    if listed.job.engine.field_modified:
        return ""
    return numbers_of(listed.explosion, part.number) or shut_out(listed.job.engine, [part.pk]).get(part.pk, "")


def reasons(job: Job, day: date) -> Reason:
    """What keeps a part that was taken from a shelf from a job: its engine's number before anything else.

    Nothing is said where the text names no part, several, or the line's own. The job's list is computed at the first question
    and kept, so a pick on which nothing is wrong costs nothing.
    """
    known: list[JobList] = []
    asked: set[str] = set()

    def why(scanned: str, wanted: int) -> str:
        asked.add(scanned)
        parts = parts_scanned(scanned, day) if len(asked) <= LOOKED_INTO else []
        if len(parts) != 1 or parts[0].pk == wanted:
            return ""
        if not known:
            known.append(job_list(job, day, stock=False))
        return _why(known[0], parts[0])

    return why


def _why(listed: JobList, part: Part) -> str:
    if numbers := by_number(listed, part):
        return number_sentence(listed.job.engine, part.number, numbers)
    if numbers_of(listed.explosion, part.number):
        return ""  # changed in the field
    return why_not(listed.explosion, listed.settled, part.number)
