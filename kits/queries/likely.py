"""Which findings the past jobs of an engine family had."""

from __future__ import annotations

from typing import Any

from django.db.models import Count

from kits.domain.likely import ENOUGH, Likely
from kits.models import EngineFamily, Job, JobFinding
from kits.queries.documents import newest_family


def likely_findings(family: EngineFamily) -> list[dict[str, Any]]:
    """Every finding of the family with its chance by closed jobs, the likeliest first, JSON-ready. Three queries.

    A finding counts once a job, at however many places; one that was withdrawn, or whose job was cancelled, does not.
    """
    document = newest_family(family.pk)
    if document is None:
        return []
    closed = Job.objects.filter(engine__family=family, state=Job.State.CLOSED)
    jobs = closed.count()
    rows = JobFinding.objects.filter(job__in=closed, act__corrected_by__isnull=True, withdrawal__isnull=True)
    found = dict(rows.values_list("code").annotate(jobs=Count("job", distinct=True)).order_by("code"))
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
