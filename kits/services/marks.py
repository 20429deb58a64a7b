"""Bore marks cleaned off: a set that is not fitted goes back to the shelf as it came."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.text import shown
from inventory.models import Act, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.domain import marks
from kits.models import JobChoice
from kits.queries.marks import words_of
from kits.services.shared import open_job, touch


def clean_marks(*, actor: Person, stamp: Stamp, job: str, serials: Sequence[str], reason: str) -> Done:
    """Record that the paint marks of these sets were cleaned off, by the person who did it; they are given to no bore any more.

    reason  why they are not fitted

    Outcome: {"job", "cleaned": serials, "still_marked": serials}. Raises DomainError "nothing-given", "reason-missing"; ManyErrors
    "not-marked".
    """
    wanted = sorted(set(serials))

    def work(act: Act) -> Body:
        if not serials:
            raise DomainError("nothing-given", "No set was named.")
        if not reason.strip():
            raise DomainError("reason-missing", "Why are the sets not fitted?")
        row = open_job(job)
        carry = marks.marked(words_of(row))
        errors = tuple(
            (
                number,
                DomainError("not-marked", f"Set {shown(serial)} carries no mark of job {job}.", marked=list(carry)),
            )
            for number, serial in enumerate(wanted, 1)
            if serial not in carry
        )
        if errors:
            raise ManyErrors(errors)
        JobChoice.objects.bulk_create(
            [
                JobChoice(
                    job=row, act=act, choice=JobChoice.BORE, place=marks.CLEANED, alternative=serial, reason=reason
                )
                for serial in wanted
            ]
        )
        touch(row)
        return {"job": job, "cleaned": wanted, "still_marked": sorted(set(carry) - set(wanted))}

    request = {"job": job, "serials": wanted, "reason": reason}
    return run("clean marks", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)
