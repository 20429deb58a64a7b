"""Newer revisions than those that a job works by, and what each would change on this job's list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from inventory.domain.errors import DomainError
from kits.domain.engine_numbers import parse_engine_number
from kits.domain.findings import check_finding
from kits.domain.requirements import Key
from kits.domain.revisions import Newer, stopped_keys
from kits.models import FamilyRevision, Job, ProcedureRevision, RevisionWord
from kits.queries.documents import family_of, operation_of
from kits.queries.job_list import JobList, basis_of, changes_document, changes_since, list_on
from kits.queries.scope import Scope, booked, has_newer, scope_of
from kits.queries.served import fitted

#: Newer revisions by code of the procedure; under "" that of the family.
Revisions = Mapping[str, ProcedureRevision | FamilyRevision]


def newer_of(scope: Scope) -> tuple[Newer, ...]:
    """What is newer than the job works by, the family first; nothing of a job that is ended. Four queries, none where nothing is."""
    job = scope.job
    if not scope.newer or job.state != Job.State.BOOKED:
        return ()
    works_by = {row.procedure_revision.procedure_id: row.procedure_revision.revision for row in booked(job)}
    kept = _kept(job)
    rows: list[Any] = [
        *FamilyRevision.objects.filter(family=job.engine.family_id, revision__gt=scope.family.revision)
        .select_related("family", "act__actor")
        .defer("document")
        .order_by("revision")
    ]
    by_code: dict[str, list[Any]] = {"": rows} if rows else {}
    for row in (
        ProcedureRevision.objects.filter(procedure__in=works_by)
        .select_related("procedure", "act__actor")
        .defer("document")
        .order_by("procedure__code", "revision")
    ):
        if row.revision > works_by[row.procedure_id]:
            by_code.setdefault(row.procedure.code, []).append(row)
    has = {operation.code: operation.revision for operation in scope.operations} | {"": scope.family.revision}
    return tuple(_newer(code, scope.family.code, has[code], its, kept) for code, its in by_code.items())


def _newer(code: str, family: str, has: int, rows: Sequence[Any], kept: Mapping[str, RevisionWord]) -> Newer:
    """rows: the newer revisions, oldest first."""
    forced = [row for row in rows if row.makers_stop]
    word = kept.get(code)
    newest = rows[-1]
    return Newer(
        procedure=code,
        code=code or family,
        has=has,
        newest=newest.revision,
        since=newest.act.recorded_at,
        by=newest.act.actor.username,
        stop="; ".join(row.makers_stop for row in forced),
        forced=forced[-1].revision if forced else 0,
        kept=_revision(word).revision if word else 0,
        kept_because=word.reason if word else "",
    )


def _revision(word: RevisionWord) -> Any:
    return word.procedure_revision or word.family_revision


def _code(word: RevisionWord) -> str:
    return word.procedure_revision.procedure.code if word.procedure_revision else ""


def _words(job: Job) -> list[RevisionWord]:
    rows = RevisionWord.objects.filter(job=job).select_related(
        "procedure_revision__procedure", "family_revision", "act__actor"
    )
    return list(rows.defer("procedure_revision__document", "family_revision__document").order_by("pk"))


def _kept(job: Job) -> dict[str, RevisionWord]:
    return {_code(word): word for word in _words(job) if not word.taken}


def maker_stops(listed: JobList) -> dict[Key, Newer]:
    """Keys of the job's list that a maker's stop forbids to go on with; empty, without a query, where nothing is newer."""
    return stopped_keys(listed.explosion, newer_of(listed.scope)) if listed.scope.newer else {}


def stops_of(job: Job) -> list[str]:
    """What the maker stopped of what the job works by, each as a sentence to be printed on top. One query where nothing is newer."""
    if job.state != Job.State.BOOKED or not has_newer(job):
        return []
    return [one.sentence() for one in newer_of(scope_of(job)) if one.stopped]


def scope_under(scope: Scope, revisions: Revisions) -> Scope:
    """The scope of a job as it would be under other revisions.

    DomainError "procedure-unusable" where a procedure does not suit the map of the family, "finding-unknown",
    "finding-place-wrong", "choice-unknown" where the job says what the family does not know any more.
    """
    newer = revisions.get("")
    family = family_of(newer) if isinstance(newer, FamilyRevision) else scope.family
    operations = []
    for row, operation in zip(booked(scope.job), scope.operations, strict=True):
        other = revisions.get(operation.code)
        taken = other if isinstance(other, ProcedureRevision) else row.procedure_revision
        operations.append(operation_of(taken, family))
    for finding in (*scope.findings, *scope.waiting):
        check_finding(finding, family.findings, family.map)
    for one in scope.recorded:
        if one.choice and one.choice not in family.choices:
            raise DomainError(
                "choice-unknown",
                f"{one.choice} was chosen, and is no choice of {family.name} any more.",
                choice=one.choice,
            )
    prefixes = {family.numbering.prefix: family.numbering.width}
    number = parse_engine_number(scope.job.engine.number, prefixes)
    return replace(scope, family=family, operations=tuple(operations), engine_number=number)


def list_under(listed: JobList, revisions: Revisions) -> JobList:
    """The job's list as it would be under other revisions; raises what `scope_under` does."""
    return list_on(basis_of(scope_under(listed.scope, revisions)), listed.fit_day, stock=False)


def rows_of(job: Job, asked: Mapping[str, int]) -> dict[str, ProcedureRevision | FamilyRevision]:
    """Revisions by code of the procedure ("" the family). Two queries."""
    found: dict[str, ProcedureRevision | FamilyRevision] = {}
    if "" in asked:
        found[""] = FamilyRevision.objects.get(family=job.engine.family_id, revision=asked[""])
    rows = ProcedureRevision.objects.filter(procedure__code__in=asked.keys() - {""}).select_related("procedure")
    return found | {row.procedure.code: row for row in rows if asked[row.procedure.code] == row.revision}


def at_odds(after: JobList) -> list[dict[str, Any]]:
    """What was fitted on the job already and a list asks for no more, or asks for another part there. Two queries."""
    entries = after.entries()
    found = []
    for one in fitted(after.job, after.explosion.requirements.keys()):
        entry = entries.get(one.key)
        if entry is not None and one.part in entry.parts:
            continue
        wanted = list(entry.parts) if entry else []
        found.append(
            {
                "position": one.key[0],
                "make": one.key[1],
                "part": one.part,
                "item": one.item,
                "amount": one.amount,
                "wanted": wanted,
                "why": f"{one.part} is in; {', '.join(wanted) or 'nothing'} would be listed there",
            }
        )
    return found


def changes_of(listed: JobList, after: JobList) -> dict[str, Any]:
    """What another list would change, JSON-ready: by position, and what is fitted that it does not ask for."""
    before = {(one["position"], one["make"], one["item"]) for one in at_odds(listed)}
    odd = [one for one in at_odds(after) if (one["position"], one["make"], one["item"]) not in before]
    return {**changes_document(changes_since(after, listed)), "fitted": odd}


def newer_document(listed: JobList) -> list[dict[str, Any]]:
    """What a job is asked about, JSON-ready, each with what it would change on this job's list; `unusable`: why it does not go alone."""
    every = newer_of(listed.scope)
    rows = rows_of(listed.job, {one.procedure: one.newest for one in every}) if every else {}
    return [_document(listed, one, rows) for one in every]


def _document(listed: JobList, one: Newer, rows: Revisions) -> dict[str, Any]:
    changes, unusable = None, ""
    try:
        changes = changes_of(listed, list_under(listed, {one.procedure: rows[one.procedure]}))
    except DomainError as error:
        unusable = error.message
    return {
        "procedure": one.procedure,
        "family": "" if one.procedure else one.code,
        "has": one.has,
        "revision": one.newest,
        "since": one.since,
        "by": one.by,
        "stop": one.stop if one.stopped else "",
        "asks": one.asks,
        "kept_because": one.kept_because if one.kept == one.newest else "",
        "said": one.sentence(),
        "changes": changes,
        "unusable": unusable,
    }


def words_of(job: Job) -> list[dict[str, Any]]:
    """What people said to newer revisions on this job, oldest first, JSON-ready. One query."""
    return [
        {
            "procedure": _code(word),
            "revision": _revision(word).revision,
            "instead_of": word.instead_of,
            "taken": word.taken,
            "reason": word.reason,
            "by": word.act.actor.username,
            "at": word.act.recorded_at,
        }
        for word in _words(job)
    ]
