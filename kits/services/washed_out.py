"""Plugs, dowels and oil jets: counted out of the block at strip, counted back before the job is closed; hot washes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.text import shown
from inventory.models import Act, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.expansion import PIECES
from kits.domain.washed_out import Count, check_counts
from kits.models import HotWash, WashedCount
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


def hot_wash(*, actor: Person, stamp: Stamp, job: str, pieces: Sequence[str]) -> Done:
    """These pieces came out of a hot wash at the moment of the act: what is read of light alloy while it is warm asks for temperatures.

    pieces  of block, liner, piston, crank. Raises DomainError "nothing-given"; ManyErrors "piece-unknown".
    Outcome: {"job", "pieces", "out_at"}.
    """
    named = sorted(set(pieces))

    def work(act: Act) -> Body:
        if not named:
            raise DomainError("nothing-given", "What came out of the wash?")
        row = open_job(job)
        errors = tuple((number, _no_piece(one)) for number, one in enumerate(pieces, 1) if one not in PIECES)
        if errors:
            raise ManyErrors(errors)
        HotWash.objects.bulk_create([HotWash(job=row, act=act, piece=piece) for piece in named])
        touch(row)
        return {"job": job, "pieces": named, "out_at": act.occurred_at}

    return run("hot wash", work, actor=actor, stamp=stamp, request={"job": job, "pieces": named}, subject=job)


def _no_piece(piece: str) -> DomainError:
    said = f"{shown(piece)} is none of {', '.join(PIECES)}."
    return DomainError("piece-unknown", said, piece=shown(piece), known=list(PIECES))
