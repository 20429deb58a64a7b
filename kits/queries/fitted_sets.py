"""When the matched sets of an engine were fitted on a job."""

from __future__ import annotations

from datetime import datetime

from kits.models import Fitting, Job


def set_fitted_at(job: Job) -> dict[str, datetime]:
    """Cylinder → moment at which a matched set was last fitted there on this job. One query."""
    rows = Fitting.objects.filter(
        job=job, act__corrected_by__isnull=True, correction__isnull=True, item__part__tracked_by="set"
    )
    found: dict[str, datetime] = {}
    for position, at in rows.order_by("act__occurred_at").values_list("spot__name", "act__occurred_at"):
        found[position.partition("/")[0]] = at
    return found
