"""Plugs, dowels and oil jets: counted out of the block at strip, counted back before the job is closed."""

from __future__ import annotations

from collections.abc import Mapping

from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.washed_out import Count, check_counts
from kits.models import WashedCount
from kits.queries.documents import family_of
from kits.queries.washed_out import counts_of, said
from kits.services.shared import open_job, touch


def count_washed(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    counts: Mapping[str, int],
    back: bool,
    recount: bool = False,
    reason: str = "",
) -> Done:
    """Count what came out of the block for washing, or what went back into it: name on the family's list → pieces.

    recount  these counts replace the earlier ones of the same names, with the reason; otherwise they add to them

    Outcome: {"job", "washed_out": [{name, listed, counted, out, back, missing}]}. Raises DomainError "nothing-given",
    "reason-missing"; ManyErrors "washed-out-unknown", "amount-negative", "more-out-than-listed", "more-back-than-out".
    """
    new = [Count(name, count, back, recount) for name, count in sorted(counts.items())]

    def work(act: Act) -> Body:
        if not counts:
            raise DomainError("nothing-given", "Nothing was counted.")
        if recount and not reason.strip():
            raise DomainError("reason-missing", "A recount needs its reason.")
        row = open_job(job)
        stands = check_counts(family_of(row.family_revision).washed_out, counts_of(row), new)
        outcome = {"job": job, "washed_out": said(stands)}
        WashedCount.objects.bulk_create(
            [
                WashedCount(job=row, act=act, name=one.name, count=one.count, back=one.back, recount=one.recount)
                for one in new
            ]
        )
        touch(row)
        return outcome

    request = {"job": job, "counts": dict(counts), "back": back, "recount": recount, "reason": reason}
    return run("count washed", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)
