"""Verdicts of clearances and ring gaps on a job that stand, for what they forbid."""

from __future__ import annotations

from kits.domain.standing_verdicts import BINDS, Said
from kits.models import Job
from kits.queries.results import rendered, results


def verdicts_on(job: Job) -> list[Said]:
    """Those that are not stale. One query where nothing was judged, three else."""
    rows = rendered(list(results().filter(job=job, kind__in=sorted(BINDS)).order_by("pk")))
    return [
        Said(
            id=row.id,
            kind=row.kind,
            subject=row.subject,
            set=row.document.get("set", ""),
            verdict=row.document.get("verdict", ""),
            why=tuple(row.document.get("why", ())),
            put_aside=bool(row.document.get("put_aside")),
        )
        for row in rows
        if not row.stale
    ]
