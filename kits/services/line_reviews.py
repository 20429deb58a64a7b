"""A person's word on a parts line that the benches called wrong again and again."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.line_doubts import ASKED_OFTEN
from kits.models import DoubtAnswered, LineReview, Procedure, ProcedureRevision
from kits.queries.catalogue import procedure as procedure_by_code
from kits.queries.line_reviews import open_doubts, subject_of


def close_review(
    *,
    actor: Person,
    stamp: Stamp,
    procedure: str,
    line: str = "",
    part: str = "",
    mended_in: int | None = None,
    word: str,
) -> Done:
    """A person reviewed a parts line that was often doubted; counting begins anew.

    line       id of the line; empty with `part`: a part that no line of the procedure asks for
    mended_in  the revision that mends it, newer than those it was doubted in; None: the list is right, because of `word`
    Raises DomainError "not-found", "reason-missing", "review-not-open" (it was doubted less than three times since it was last
    reviewed), "not-mended" (that revision is not newer).
    Outcome: {"procedure", "line", "part", "mended_in", "answered": [{act, job}]}.
    """
    request = {"procedure": procedure, "line": line, "part": part, "mended_in": mended_in, "word": word}

    def work(act: Act) -> Body:
        of = procedure_by_code(procedure)
        if not word.strip():
            raise DomainError("reason-missing", "What was mended, or why is the list right?")
        unlisted = None if line or not part else things.parts_by_number([part])[part]
        locks.name("line reviews", of.code)
        subject = (of.code, line, unlisted.number if unlisted else "")
        doubts = [row for row in open_doubts(of) if subject_of(row) == subject]
        if len({row.extra_id for row in doubts}) < ASKED_OFTEN:
            raise DomainError(
                "review-not-open",
                f"{of.code}: {f'line {line}' if line else part or 'no line'} is not up for review.",
                procedure=of.code,
                line=line,
                part=part,
            )
        mending = _mending(of, mended_in, max(row.revision.revision for row in doubts))
        review = LineReview.objects.create(
            act=act, procedure=of, line=line, part=unlisted, mended_in=mending, word=word
        )
        DoubtAnswered.objects.bulk_create([DoubtAnswered(doubt=row, review=review) for row in doubts])
        answered = {row.extra_id: {"act": row.extra.act_id, "job": row.extra.job.number} for row in doubts}
        return {
            "procedure": of.code,
            "line": line,
            "part": subject[2],
            "mended_in": mended_in,
            "answered": list(answered.values()),
        }

    return run("review line", work, actor=actor, stamp=stamp, request=request, subject=procedure, reason=word)


def _mending(of: Procedure, revision: int | None, doubted: int) -> ProcedureRevision | None:
    if revision is None:
        return None
    found = ProcedureRevision.objects.filter(procedure=of, revision=revision).first()
    if found is None:
        raise DomainError("not-found", f"{of.code} has no revision {revision}.", procedure=of.code, revision=revision)
    if revision <= doubted:
        raise DomainError(
            "not-mended",
            f"{of.code} revision {revision} is not newer than revision {doubted}, in which the line was doubted.",
            ways_out=("Enter the mended revision first.", "If the list is right, say why and name no revision."),
            revision=revision,
            doubted=doubted,
        )
    return found
