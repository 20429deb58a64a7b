"""What a job was booked for and what was found: everything its list is computed from, in a bounded number of queries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from django.db.models import Exists, OuterRef, QuerySet

from inventory.queries import by_hand
from inventory.queries.catalogue import no_such
from inventory.queries.prepared import Prepared
from kits.domain.buying_in import with_named
from kits.domain.engine_numbers import EngineNumber, parse_engine_number
from kits.domain.extra_work import Word
from kits.domain.families import Family
from kits.domain.findings import Finding
from kits.domain.procedures import Operation
from kits.domain.requirements import Explosion, Key
from kits.domain.settled import Recorded, Reuse
from kits.domain.sizes import Entry, standing_findings
from kits.models import (
    Approval,
    FamilyRevision,
    FindingWithdrawal,
    Job,
    JobChoice,
    JobFinding,
    JobOperation,
    RevisionWord,
)
from kits.queries.chosen import counting
from kits.queries.documents import exploded, family_of, operation_of
from kits.queries.not_needed import not_needed
from kits.queries.reuse import reuse_of
from kits.queries.sizes import entries_of


@dataclass(frozen=True, slots=True)
class Scope:
    """Everything the list of a job is a pure function of.

    waiting     findings beyond the booked scope that wait for the owner's word; they are not on the list
    limited     findings of extra work for which the owner named a sum, each with that word
    reuse       inspected old parts that go back, by (position, make)
    not_needed  positions that get nothing, with the reason; what asks for one anew since puts it on the list again
    sizes       entries of the engine's record that count
    newer       there may be newer revisions than those that the job works by
    """

    job: Job
    family: Family
    operations: tuple[Operation, ...]
    engine_number: EngineNumber
    findings: tuple[Finding, ...]
    waiting: tuple[Finding, ...]
    recorded: tuple[Recorded, ...]
    reuse: dict[Key, Reuse]
    not_needed: dict[str, str]
    limited: dict[Finding, Word] = field(default_factory=dict)
    sizes: tuple[Entry, ...] = ()
    newer: bool = False

    def explosion(self, with_waiting: bool = False) -> Explosion:
        """The list by use position, with what was named to be bought in; with_waiting: as it would be once the owner has agreed."""
        return with_named(self.unnamed(with_waiting), self.operations, self.recorded)

    def unnamed(self, with_waiting: bool = False) -> Explosion:
        """The list by use position before any part is named for what is to be bought in."""
        findings = self.findings + self.waiting if with_waiting else self.findings
        return exploded(self.family, self.operations, findings, self.engine_number, _standing(self.family, self.sizes))


def _standing(family: Family, sizes: tuple[Entry, ...]) -> tuple[tuple[Finding, frozenset[str]], ...]:
    return standing_findings(family.sizes, sizes, family.map) if sizes else ()


def job_by_number(number: str) -> Job:
    """A job with its engine, owner, site and places; DomainError "not-found" with near ones."""
    found = _JOB(number)
    if not found:
        raise no_such("job", number, Job.objects.values_list("number", flat=True))
    return found[0]


_JOB = Prepared(
    lambda number: (
        Job.objects.select_related(
            "engine__family", "engine__place", "engine__owner", "site", "family_revision", "cart", "bench"
        )
        .defer("family_revision__document")
        .filter(number=number)
    ),
    "",
)
_BOOKED = Prepared(
    lambda job: (
        JobOperation.objects.filter(job=job)
        .select_related("procedure_revision")
        .defer("procedure_revision__document")  # it is long, and was nearly always read before
        .order_by("pk")
    ),
    0,
)


def scope_of(job: Job, upto_act: int | None = None) -> Scope:
    """The scope of a job now, or as it stood when an act was recorded (`upto_act`: nothing from later acts). Nine queries at most;
    two where nothing was found or decided yet."""
    family = family_of(job.family_revision if upto_act is None else _family_revision_at(job, upto_act))
    has = _Has(*by_hand.rows(_HAS, [job.pk] * 4 + [job.engine_id, job.pk, job.family_revision_id])[0])
    rows = booked(job, upto_act)
    operations = tuple(operation_of(row.procedure_revision, family) for row in rows)
    number = parse_engine_number(job.engine.number, {family.numbering.prefix: family.numbering.width})
    sizes = entries_of(job.engine_id, upto_act) if has.sizes else ()
    found, waiting, limited = _findings(job, upto_act) if has.findings else ((), (), {})
    recorded = tuple(_recorded(row) for row in counting([job], upto_act)) if has.choices else ()
    return Scope(
        job=job,
        family=family,
        operations=operations,
        engine_number=number,
        findings=found,
        waiting=waiting,
        recorded=recorded,
        reuse=reuse_of(job, upto_act) if has.inspections else {},
        not_needed=not_needed(job, family, rows, found, number, _standing(family, sizes), upto_act)
        if has.not_needed
        else {},
        limited=limited,
        sizes=sizes,
        newer=bool(has.newer),
    )


def booked(job: Job, upto_act: int | None = None) -> list[JobOperation]:
    """The operations of a job in the order in which they were booked, each in the revision that the job works by. One query.

    upto_act  as it stood when that act was recorded
    """
    standing: dict[int, JobOperation] = {}
    for row in _BOOKED(job.pk):
        if upto_act is None or row.added_by_id <= upto_act:
            standing[row.procedure_revision.procedure_id] = row
    return list(standing.values())


def _family_revision_at(job: Job, upto_act: int) -> FamilyRevision:
    """The family's revision that the job worked by when an act was recorded. One query, one more where another was taken since."""
    words = RevisionWord.objects.filter(job=job, procedure_revision__isnull=True, taken=True, act_id__gt=upto_act)
    earlier = words.order_by("act_id").values_list("instead_of", flat=True).first()
    if earlier is None:
        return job.family_revision
    return FamilyRevision.objects.get(family=job.family_revision.family_id, revision=earlier)


class _Has(NamedTuple):
    """Which of these a job has at all, taken back or not: what it has none of need not be read."""

    findings: bool
    choices: bool
    inspections: bool
    not_needed: bool
    sizes: bool
    newer: bool


_HAS = "SELECT " + ", ".join(
    f"EXISTS (SELECT 1 FROM kits_{table} WHERE {of} = %s)"
    for table, of in (
        ("jobfinding", "job_id"),
        ("jobchoice", "job_id"),
        ("inspection", "job_id"),
        ("notneeded", "job_id"),
        ("enginesize", "engine_id"),
    )
)
#: Whether anything is newer than what the job was booked with: rows that a newer one has replaced since say so too.
_NEWER = """EXISTS (
    SELECT 1 FROM kits_joboperation o JOIN kits_procedurerevision r ON r.id = o.procedure_revision_id
    JOIN kits_procedurerevision n ON n.procedure_id = r.procedure_id AND n.revision > r.revision WHERE o.job_id = %s
) OR EXISTS (
    SELECT 1 FROM kits_familyrevision r
    JOIN kits_familyrevision n ON n.family_id = r.family_id AND n.revision > r.revision WHERE r.id = %s
)"""
_HAS += f", {_NEWER}"


def has_newer(job: Job) -> bool:
    """Whether there may be newer revisions than those that a job works by. One query."""
    return bool(by_hand.rows(f"SELECT {_NEWER}", [job.pk, job.family_revision_id])[0][0])


def _recorded(row: JobChoice) -> Recorded:
    if row.alternative.startswith("part:"):
        return Recorded(row.choice, row.place, part=row.alternative.removeprefix("part:"))
    return Recorded(row.choice, row.place, row.alternative)


def _found(job: int, upto_act: int | None = None) -> QuerySet[JobFinding]:
    """Findings of a job that were not taken back, each with what was said of it; `upto_act`: as it stood when that act was recorded."""
    withdrawn = FindingWithdrawal.objects.filter(finding=OuterRef("pk"))
    said = Approval.objects.filter(findings=OuterRef("pk")).order_by("-pk")
    rows = JobFinding.objects.filter(job=job, act__corrected_by__isnull=True)
    if upto_act is not None:
        withdrawn, said = withdrawn.filter(act_id__lte=upto_act), said.filter(act_id__lte=upto_act)
        rows = rows.filter(act_id__lte=upto_act)
    return rows.annotate(
        is_withdrawn=Exists(withdrawn),
        approved=said.values("approved")[:1],
        word=said.values("pk")[:1],
        limit=said.values("limit_coins")[:1],
    ).order_by("pk")


_FOUND = Prepared(_found, -1)


def _findings(job: Job, upto_act: int | None) -> tuple[tuple[Finding, ...], tuple[Finding, ...], dict[Finding, Word]]:
    """What counts, what waits for the owner, and what the owner named a sum for (and nothing else asks for)."""
    rows: Iterable[Any] = _FOUND(job.pk) if upto_act is None else _found(job.pk, upto_act)
    certain: list[Finding] = []
    waiting: list[Finding] = []
    limited: dict[Finding, Word] = {}
    free: set[Finding] = set()
    for row in rows:
        if row.is_withdrawn:
            continue
        if not row.extra_work or row.approved:
            certain.append(Finding(row.code, row.place))
            if row.extra_work and row.limit is not None:
                limited[certain[-1]] = Word(row.word, row.limit)
            else:
                free.add(certain[-1])
        elif row.approved is None:
            waiting.append(Finding(row.code, row.place))
    known = set(certain)
    return (
        tuple(dict.fromkeys(certain)),
        tuple(finding for finding in dict.fromkeys(waiting) if finding not in known),
        {finding: word for finding, word in limited.items() if finding not in free},
    )


def known_findings(rows: Iterable[Finding]) -> list[dict[str, str]]:
    """Findings as plain values."""
    return [{"code": finding.code, "place": finding.place} for finding in rows]
