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
from kits.models import Job, MeasuredResult, Reading, ResultReading
from kits.queries.documents import family_of
from kits.queries.found_wrong import found_wrong, with_next_calibration
from kits.queries.read_again import Again, again_of


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One result. `readings`: ids of what it rests on; `why`: why it is stale, empty while it stands; `other_limits`: the reason among
    them that its limits are stated otherwise now, empty where they are not; `again`: those among them that what it rests on was read again,
    cut, or is of another set now."""

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
    again: tuple[Again, ...] = ()

    @property
    def stale(self) -> bool:
        """Whether it may not be relied on any more."""
        return bool(self.why)


def results() -> QuerySet[MeasuredResult]:
    """All results, each with its job, who wrote it, and the revisions of the family that it and the job go by."""
    rows = MeasuredResult.objects.select_related("job__family_revision", "family_revision", "act__actor")
    return rows.defer("job__family_revision__document", "family_revision__document")


def results_of(job: Job, kind: str = "", subject: str = "", *, standing_only: bool = False) -> tuple[ResultRow, ...]:
    """Results of a job, oldest first; standing_only: without the stale ones. Five queries."""
    rows = results().filter(job=job)
    if kind:
        rows = rows.filter(kind=kind)
    if subject:
        rows = rows.filter(subject=subject)
    found = rendered(list(rows.order_by("pk")))
    return tuple(one for one in found if not (standing_only and one.stale))


def result_now(job: Job, kind: str, subject: str) -> ResultRow | None:
    """The one result of that kind and subject that stands; None if there is none, or it is stale. Five queries."""
    found = results_of(job, kind, subject, standing_only=True)
    return found[-1] if found else None


def rendered(
    rows: Sequence[MeasuredResult], by: Family | None = None, also: str = "", upto_act: int | None = None
) -> list[ResultRow]:
    """Rows of `results` as plain values. Four queries, two more where a gasket was chosen among them.

    by    the family, as its revision has it, whose limits count; None: that of each result's own job
    also  number of a job on which sets may have been read again; upto_act: what came after that act does not make it stale by `again`
    """
    if not rows:
        return []
    rests: dict[int, list[Reading]] = defaultdict(list)
    gone: dict[int, list[str]] = defaultdict(list)
    links = ResultReading.objects.filter(result__in=[row.pk for row in rows]).order_by("reading_id")
    links = (
        with_next_calibration(links)
        .select_related("reading__withdrawal", "reading__act", "reading__serial", "reading__job__family_revision")
        .defer("reading__job__family_revision__document")
    )
    for link in links:
        rests[link.result_id].append(link.reading)
        end = getattr(link.reading, "withdrawal", None)
        if end is not None:
            gone[link.result_id].append(f"reading {link.reading_id} was withdrawn: {end.reason}")
    wrong = found_wrong(links, {row.pk: row.act_id for row in rows}, upto_act)
    again = {
        result: (*reasons, *wrong.get(result, ()))
        for result, reasons in ({row.pk: () for row in rows} | again_of(rows, rests, also, upto_act)).items()
    }
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
                readings=tuple(one.pk for one in rests[row.pk]),
                replaced_by=last if last != row.pk else None,
                why=(
                    *gone[row.pk],
                    *(one.text for one in again.get(row.pk, ())),
                    *replaced,
                    *([limits] if limits else []),
                ),
                other_limits=limits,
                again=again.get(row.pk, ()),
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
