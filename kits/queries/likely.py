"""Which findings the past jobs of an engine family had."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from kits.domain.extra_findings import once_a_job
from kits.domain.likely import ENOUGH, Likely
from kits.models import EngineFamily, ExtraFinding, Job, JobFinding
from kits.queries.documents import newest_family
from kits.queries.line_reviews import taken_back


def likely_findings(family: EngineFamily) -> list[dict[str, Any]]:
    """Every finding of the family with its chance by closed jobs, the likeliest first, JSON-ready. Four queries, six with extras.

    A finding counts once a job, at however many places; one that was withdrawn, or whose job was cancelled, does not. What was asked
    for as "found after strip" counts as the findings that its parts line names, unless it was taken back.
    """
    document = newest_family(family.pk)
    if document is None:
        return []
    # Of a job of the past that a table brought in nobody recorded what it found.
    closed = Job.objects.filter(engine__family=family, state=Job.State.CLOSED, end__closed_on__isnull=True)
    jobs = closed.count()
    rows = JobFinding.objects.filter(job__in=closed, act__corrected_by__isnull=True, withdrawal__isnull=True)
    found = once_a_job([*rows.values_list("job", "code").distinct(), *_asked_for(closed)])
    likely = [Likely(code, found.get(code, 0), jobs) for code in document.findings]
    return [
        {
            "finding": one.finding,
            "text": document.findings[one.finding].text,
            "found": one.found,
            "jobs": one.jobs,
            "chance": f"{float(one.chance):.3f}",
            "lowest": f"{float(one.range[0]):.3f}",
            "highest": f"{float(one.range[1]):.3f}",
            "say": f"thin data: fewer than {ENOUGH} closed jobs" if one.thin else "",
        }
        for one in sorted(likely, key=lambda one: (-one.chance, one.finding))
    ]


def _asked_for(jobs: QuerySet[Job]) -> list[tuple[int, str]]:
    """(job, code) of what was found after strip on these jobs."""
    rows = ExtraFinding.objects.filter(extra__job__in=jobs, extra__act__corrected_by__isnull=True)
    said = list(rows.order_by("pk").values_list("extra__job", "code", "extra__act"))
    gone = taken_back({act for _, _, act in said}) if said else set()
    return [(job, code) for job, code, act in said if act not in gone]
