"""A newer revision of what a job was booked with: taken over, or the old one is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from inventory.domain.errors import DomainError, ManyErrors
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.revisions import Newer
from kits.models import FamilyRevision, Job, JobOperation, ProcedureRevision, RevisionWord
from kits.queries.job_list import job_list
from kits.queries.revisions import Revisions, changes_of, list_under, newer_of, rows_of
from kits.queries.to_return import to_return
from kits.services.maker_stops import stopped_error
from kits.services.shared import open_job, touch


@dataclass(frozen=True, slots=True)
class RevisionIn:
    """The newest revision of a procedure on the job; an empty `procedure`: of the engine family."""

    revision: int
    procedure: str = ""


def decide_revisions(
    *, actor: Person, stamp: Stamp, job: str, revisions: Sequence[RevisionIn], take: bool, reason: str
) -> Done:
    """Take newer revisions over to a job, or keep what it has; both with a reason.

    Several go in one act where one needs the other: a procedure that names a place of the family's new map. The list is computed
    from them from then on; what is held or lies with the job for nothing is to be released or returned, as after a finding was
    withdrawn. What was fitted stays in; where the new list asks for another part the job stays open until that is answered.
    A maker's stop cannot be answered by keeping ("stopped-by-maker").

    Raises ManyErrors "revision-not-asked" for what the job is not asked about: not the newest, not newer, kept already, not on the
    job; and what `scope_under` raises. Outcome: {"taken", "revisions": [{procedure, revision, instead_of}], "changes": {added,
    removed, changed, kept, revisions, fitted} or null, "to_return": {job, lying, held} or null}.
    """
    request = {"job": job, "revisions": [asdict(one) for one in revisions], "take": take, "reason": reason}

    def work(act: Act) -> Body:
        if not revisions:
            raise DomainError("nothing-given", "No revision was named.")
        if not reason.strip():
            raise DomainError("reason-missing", "Why is it taken over, or why does the job keep the old one?")
        row = open_job(job)
        today = shop_day(act.occurred_at)
        before = job_list(row, today, stock=False)
        newer = {one.procedure: one for one in newer_of(before.scope)}
        _check(newer, revisions, take)
        rows = rows_of(row, {one.procedure: one.revision for one in revisions})
        after = list_under(before, rows) if take else None
        changes = changes_of(before, after) if after else None
        _write(act, row, rows, newer, take, reason)
        touch(row)
        return {
            "taken": take,
            "revisions": [
                {"procedure": code, "revision": one.revision, "instead_of": newer[code].has}
                for code, one in rows.items()
            ],
            "changes": changes,
            "to_return": to_return(row, today) if take else None,
        }

    return run("decide revisions", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _check(newer: Mapping[str, Newer], revisions: Sequence[RevisionIn], take: bool) -> None:
    errors: list[tuple[int, DomainError]] = []
    seen: set[str] = set()
    for number, one in enumerate(revisions, 1):
        known = newer.get(one.procedure)
        named = known.code if known else one.procedure or "the family"
        if known is None or one.revision != known.newest or one.procedure in seen:
            newest = f"the newest is {known.newest}" if known else "nothing newer is there"
            why = f"The job is not asked about {named[:60]} revision {one.revision}: {newest}."
            errors.append((number, DomainError("revision-not-asked", why, procedure=one.procedure[:60])))
        elif not take and known.stopped:
            errors.append((number, stopped_error(known)))
        elif not take and not known.asks:
            why = f"{known.code} revision {known.has} is kept already: {known.kept_because}"
            errors.append((number, DomainError("revision-not-asked", why, procedure=one.procedure)))
        seen.add(one.procedure)
    if errors:
        raise ManyErrors(tuple(errors))


def _write(act: Act, job: Job, rows: Revisions, newer: Mapping[str, Newer], take: bool, reason: str) -> None:
    RevisionWord.objects.bulk_create(
        [
            RevisionWord(
                job=job, act=act, taken=take, instead_of=newer[code].has, reason=reason,
                procedure_revision=one if isinstance(one, ProcedureRevision) else None,
                family_revision=one if isinstance(one, FamilyRevision) else job.family_revision,
            )
            for code, one in rows.items()
        ]
    )  # fmt: skip
    for one in rows.values() if take else ():
        if isinstance(one, FamilyRevision):
            job.family_revision = one
            Job.objects.filter(pk=job.pk).update(family_revision=one)
        else:
            JobOperation.objects.create(job=job, procedure_revision=one, added_by=act)
