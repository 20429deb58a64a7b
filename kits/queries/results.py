"""Results of a job to be read, each with the readings it rests on, and why it is stale if it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Max, QuerySet

from kits.models import Job, MeasuredResult, ResultReading


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One result. `readings`: ids of what it rests on; `why`: why it is stale, empty while it stands."""

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

    @property
    def stale(self) -> bool:
        """Whether it may not be relied on any more."""
        return bool(self.why)


def results() -> QuerySet[MeasuredResult]:
    """All results, each with its job and who wrote it."""
    return MeasuredResult.objects.select_related("job", "act__actor")


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


def rendered(rows: Sequence[MeasuredResult]) -> list[ResultRow]:
    """Rows of `results` as plain values. Two queries."""
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
                why=(*gone[row.pk], *replaced),
            )
        )
    return found


def matched_by(act_id: int) -> list[str]:
    """Why the readings by which a set was matched in that act do not hold it any more; empty while they do. One query."""
    rows = ResultReading.objects.filter(result__act=act_id, reading__withdrawal__isnull=False).order_by("reading_id")
    return [
        f"reading {reading} was withdrawn: {reason}"
        for reading, reason in rows.values_list("reading_id", "reading__withdrawal__reason")
    ]
