"""When the matched sets of an engine were changed on a job."""

from __future__ import annotations

from datetime import datetime

from kits.models import Fitting, Job, Removal


def set_changed_at(job: Job) -> dict[str, datetime]:
    """Cylinder → moment at which a matched set last went in or came out there on this job. Two queries."""
    found: dict[str, datetime] = {}
    for rows in (Fitting.objects.filter(correction__isnull=True), Removal.objects.all()):
        moved = rows.filter(job=job, act__corrected_by__isnull=True, item__part__tracked_by="set")
        for position, at in moved.order_by("pk").values_list("spot__name", "act__occurred_at"):
            place = position.partition("/")[0]
            found[place] = max(at, found.get(place, at))
    return found
