"""Which parts lines an extra says are wrong. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from kits.domain.line_doubts import lines_meant
from kits.models import Extra, LineDoubt, Procedure
from kits.queries.job_list import JobList
from kits.queries.scope import booked


def doubt_lines(extra: Extra, listed: JobList, parts: Collection[str], positions: Sequence[str]) -> None:
    """Keep which parts lines an extra says are wrong. parts: numbers of the part and what replaces it."""
    scope = listed.scope
    meant = lines_meant(parts, positions, scope.operations, listed.explosion, listed.settled)
    named = dict(Procedure.objects.filter(family=listed.job.engine.family_id).values_list("pk", "code"))
    works_by = [row.procedure_revision for row in booked(listed.job)]
    revisions = {named[row.procedure_id]: row.pk for row in works_by}
    LineDoubt.objects.bulk_create(
        [LineDoubt(extra=extra, revision_id=revisions[code], line=line) for code, line in meant]
    )
