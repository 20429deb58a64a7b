"""Hours worked on extra work: entries, the owner's newest words, and what is left of each."""

from __future__ import annotations

from typing import Any

from kits.domain.extra_hours import HoursWord, Purse, Worked, purses
from kits.models import Approval, Job, WorkedTime


def words_of(job: Job) -> dict[int, HoursWord]:
    """Finding → the owner's newest word on it. One query."""
    rows = Approval.objects.filter(job=job, findings__isnull=False).order_by("pk")
    return {
        finding: HoursWord(approval, approved, limit_s)
        for finding, approval, approved, limit_s in rows.values_list("findings", "pk", "approved", "limit_s")
    }


def worked_on(job: Job) -> list[Worked]:
    """The entries of a job that count. One query."""
    rows = WorkedTime.objects.filter(job=job, reversal__isnull=True, act__corrected_by__isnull=True).order_by("pk")
    return [
        Worked(finding, person, day.toordinal(), time_s)
        for finding, person, day, time_s in rows.values_list("finding", "person", "worked_on", "time_s")
    ]


def hours_record(job: Job) -> dict[str, Any]:
    """{"hours": each approval that stands with its limit, used and left in seconds, "worked": every entry, reversed ones too}.
    Three queries."""
    rows = (
        WorkedTime.objects.filter(job=job).select_related("finding", "person", "reversal", "act__actor").order_by("pk")
    )
    return {
        "hours": [purse_document(one) for one in purses(words_of(job), worked_on(job))],
        "worked": [
            {
                "entry": row.pk,
                "finding": row.finding_id,
                "code": row.finding.code,
                "place": row.finding.place,
                "person": row.person.username,
                "worked_on": row.worked_on,
                "time_s": row.time_s,
                "typed": row.typed,
                "entered_by": row.act.actor.username,
                "reversed": row.reversal.reason if hasattr(row, "reversal") else None,
            }
            for row in rows
        ],
    }


def purse_document(one: Purse) -> dict[str, Any]:
    """One approval's hours, JSON-ready."""
    return {"approval": one.approval, "limit_s": one.limit_s, "used_s": one.used_s, "left_s": one.left_s}
