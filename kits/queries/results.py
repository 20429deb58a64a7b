"""Results of a job to be read, each with the readings it rests on, and why it is stale if it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Max, QuerySet

from kits.domain.decided_by import limits_differ
from kits.domain.families import Family
from kits.models import Job, MeasuredResult, ResultReading
from kits.queries.documents import family_of


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One result. `readings`: ids of what it rests on; `why`: why it is stale, empty while it stands; `other_limits`: the reason among
    them that its limits are stated otherwise now, empty where they are not."""

    id: int
    job: str
    kind: str
    subject: str
    document: dict[str, Any]
    at: datetime
    by: str
    readings: tuple[int, ...]
    replaced_by: int | None
    why: tuple[str, ...]
    other_limits: str = ""

    @property
    def stale(self) -> bool:
        """Whether it may not be relied on any more."""
        return bool(self.why)


def results() -> QuerySet[MeasuredResult]:
    """All results, each with its job, who wrote it, and the revisions of the family that it and the job go by."""
    rows = MeasuredResult.objects.select_related("job__family_revision", "family_revision", "act__actor")
    return rows.defer("job__family_revision__document", "family_revision__document")


def results_of(job: Job, kind: str = "", subject: str = "", *, standing_only: bool = False) -> tuple[ResultRow, ...]:
    """Results of a job, oldest first; standing_only: without the stale ones. Three queries."""
    rows = results().filter(job=job)
    if kind:
        rows = rows.filter(kind=kind)
    if subject:
        rows = rows.filter(subject=subject)
    found = rendered(list(rows.order_by("pk")))
    return tuple(one for one in found if not (standing_only and one.stale))


def result_now(job: Job, kind: str, subject: str) -> ResultRow | None:
    """The one result of that kind and subject that stands; None if there is none, or its readings were withdrawn. Three queries."""
    found = results_of(job, kind, subject, standing_only=True)
    return found[-1] if found else None


def rendered(rows: Sequence[MeasuredResult], by: Family | None = None) -> list[ResultRow]:
    """Rows of `results` as plain values. Two queries.

    by  the family, as its revision has it, whose limits count; None: that of each result's own job
    """
    if not rows:
        return []
    rests: dict[int, list[int]] = defaultdict(list)
    gone: dict[int, list[str]] = defaultdict(list)
    links = ResultReading.objects.filter(result__in=[row.pk for row in rows]).order_by("reading_id")
    for result, reading, reason in links.values_list("result_id", "reading_id", "reading__withdrawal__reason"):
        rests[result].append(reading)
        if reason is not None:
            gone[result].append(f"reading {reading} was withdrawn: {reason}")
    newest = {
        (job, kind, subject): last
        for job, kind, subject, last in MeasuredResult.objects.filter(job__in={row.job_id for row in rows})
        .values_list("job_id", "kind", "subject")
        .annotate(last=Max("pk"))
        .order_by("job_id", "kind", "subject")
    }
    found = []
    for row in rows:
        last = newest[row.job_id, row.kind, row.subject]
        replaced = [f"result {last} took its place"] if last != row.pk else []
        limits = _other_limits(row, by or family_of(row.job.family_revision))
        found.append(
            ResultRow(
                id=row.pk,
                job=row.job.number,
                kind=row.kind,
                subject=row.subject,
                document=row.document,
                at=row.act.occurred_at,
                by=row.act.actor.username,
                readings=tuple(rests[row.pk]),
                replaced_by=last if last != row.pk else None,
                why=(*gone[row.pk], *replaced, *([limits] if limits else [])),
                other_limits=limits,
            )
        )
    return found


def _other_limits(row: MeasuredResult, now: Family) -> str:
    before = family_of(row.family_revision)
    if before is now or not limits_differ(row.kind, before.facts, now.facts):
        return ""
    return (
        f"it was judged by the limits of {before.code} revision {before.revision}; "
        f"those of {now.code} revision {now.revision} are others: judge it again"
    )


def matched_by(act_id: int) -> list[str]:
    """Why the readings by which a set was matched in that act do not hold it any more; empty while they do. One query."""
    rows = ResultReading.objects.filter(result__act=act_id, reading__withdrawal__isnull=False).order_by("reading_id")
    return [
        f"reading {reading} was withdrawn: {reason}"
        for reading, reason in rows.values_list("reading_id", "reading__withdrawal__reason")
    ]
