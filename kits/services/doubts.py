"""Which parts lines an extra says are wrong. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from kits.domain.line_doubts import lines_meant
from kits.models import Extra, JobOperation, LineDoubt
from kits.queries.job_list import JobList


def doubt_lines(extra: Extra, listed: JobList, parts: Collection[str], positions: Sequence[str]) -> None:
    """Keep which parts lines an extra says are wrong. parts: numbers of the part and what replaces it."""
    scope = listed.scope
    meant = lines_meant(parts, positions, scope.operations, listed.explosion, listed.settled)
    booked = JobOperation.objects.filter(job=listed.job).values_list(
        "procedure_revision__procedure__code", "procedure_revision"
    )
    revisions = dict(booked)
    LineDoubt.objects.bulk_create(
        [LineDoubt(extra=extra, revision_id=revisions[code], line=line) for code, line in meant]
    )
