"""A person accepts what a result chose; the list of the job then asks for exactly that."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.judging import Chosen
from kits.domain.limits import Verdict
from kits.domain.words import words_for
from kits.models import Acceptance, Job
from kits.queries.results import ResultRow, rendered, results
from kits.queries.scope import scope_of
from kits.services.choosing import Word, choose, lock_candidates
from kits.services.doubtful import refuse_doubtful
from kits.services.shared import open_job, touch


def accept_result(*, actor: Person, stamp: Stamp, job: str, result_id: int, reason: str = "") -> Done:
    """Accept a result that chooses parts. A doubtful one is accepted only by somebody who may, with the reason; one that fails by nobody.

    The choices count until one of the readings that the result rests on is withdrawn; then they are open again, on the list and at
    fitting. Outcome: {"result", "kind", "subject", "verdict", "choices": [{"choice", "place", "alternative"}], "released": [hold ids
    of candidates that were not chosen]}. Raises "not-found", "job-ended", "result-stale", "nothing-to-accept", "verdict-fails",
    "doubtful", "reason-missing", "choice-not-candidate".
    """

    def work(act: Act) -> Body:
        row = open_job(job)
        found = _standing(row, result_id)
        words = words_for(scope_of(row).explosion(), [Chosen(**one) for one in found.document.get("chosen", ())])
        if not words:
            raise DomainError(
                "nothing-to-accept",
                f"Result {found.id} ({found.kind} of {found.subject}) chooses nothing that the list of {job} leaves open.",
                result=found.id,
            )
        verdict = _verdict(actor, found, reason)
        lock_candidates(row)
        Acceptance.objects.create(act=act, result_id=found.id, doubtful=verdict != Verdict.PASS, reason=reason.strip())
        chosen = [Word(one.choice, one.place, one.alternative) for one in words]
        because = f"{found.kind} of {found.subject}, result {found.id}" + (f": {reason}" if reason.strip() else "")
        released = choose(act, row, chosen, because)
        touch(row)
        return {
            "result": found.id,
            "kind": found.kind,
            "subject": found.subject,
            "verdict": verdict.value,
            "choices": [{"choice": one.choice, "place": one.place, "alternative": one.alternative} for one in chosen],
            "released": released,
        }

    request = {"job": job, "result": result_id, "reason": reason}
    return run("accept result", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _verdict(actor: Person, found: ResultRow, reason: str) -> Verdict:
    """What the result came to, where the person may take it."""
    verdict, why = Verdict(found.document["verdict"]), [str(one) for one in found.document.get("why", ())]
    what = f"Result {found.id} ({found.kind} of {found.subject})"
    if verdict is Verdict.FAIL:
        because = f": {'; '.join(why)}" if why else ""
        raise DomainError(
            "verdict-fails",
            f"{what} fails{because}.",
            ways_out=("Judge again after it was put right.",),
            result=found.id,
            why=why,
        )
    if verdict is Verdict.DOUBTFUL:
        refuse_doubtful(actor, what, why, reason)
    return verdict


def _standing(job: Job, result_id: int) -> ResultRow:
    """The result, which still stands."""
    rows = rendered(list(results().filter(job=job, pk=result_id)))
    if not rows:
        raise DomainError("not-found", f"Job {job.number} has no result {result_id}.", job=job.number, result=result_id)
    if rows[0].stale:
        raise DomainError(
            "result-stale",
            f"Result {result_id} does not stand any more: {'; '.join(rows[0].why)}.",
            ways_out=("Judge the readings again.",),
            result=result_id,
            why=list(rows[0].why),
        )
    return rows[0]
