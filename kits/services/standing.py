"""A finding stands on a job once at one place. Private to services: the job is locked, or is being booked."""

from __future__ import annotations

from collections.abc import Mapping

from django.db.models import OuterRef, Subquery

from inventory.domain.errors import DomainError
from kits.models import Approval, Job, JobFinding


def standing_findings(job: Job) -> dict[tuple[str, str], JobFinding]:
    """(code, place) → the finding that is on the job and was not withdrawn, with the owner's newest word as `approved`. One query."""
    word = Approval.objects.filter(findings=OuterRef("pk")).order_by("-pk").values("approved")[:1]
    rows = JobFinding.objects.filter(job=job, act__corrected_by__isnull=True, withdrawal__isnull=True)
    return {(row.code, row.place): row for row in rows.annotate(approved=Subquery(word)).order_by("-pk")}


def refuse_twice(
    code: str, place: str, standing: Mapping[tuple[str, str], JobFinding], named: Mapping[tuple[str, str], int]
) -> None:
    """DomainError "finding-on-job": it is on the job already (with its id), or stands above in the same request.

    named  (code, place) → which entry of the request said it first
    """
    there = standing.get((code, place))
    if there is None and (code, place) not in named:
        return
    if there is None:
        raise DomainError(
            "finding-on-job",
            f"{code} at {place} is entry {named[code, place]} already.",
            ways_out=("Say it once.",),
            finding=None,
            entry=named[code, place],
            place=place,
        )
    raise DomainError(
        "finding-on-job",
        f"{code} at {place} is on job {there.job.number} already, as finding {there.pk}.",
        ways_out=_ways_out(there),
        finding=there.pk,
        entry=None,
        place=place,
    )


def _ways_out(there: JobFinding) -> tuple[str, ...]:
    withdraw = f"Withdraw finding {there.pk} if it was wrong, then record it anew."
    approved = getattr(there, "approved", None)
    if there.extra_work and approved is None:
        return (f"Record the owner's word on finding {there.pk}: it waits for it.", withdraw)
    if there.extra_work and not approved:
        return (f"Ask the owner again and record the new word on finding {there.pk}: the newest counts.", withdraw)
    return ("Nothing: it is on the list.", withdraw)
