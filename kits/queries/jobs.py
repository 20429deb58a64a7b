"""Jobs as lists and records to be read, with what was booked, found, said and decided."""

from __future__ import annotations

from typing import Any

from django.db.models import Q, QuerySet

from inventory.queries.catalogue import near_numbers
from inventory.queries.search import by_nearness
from kits.models import (
    Approval,
    Engine,
    Job,
    JobDate,
    JobEnd,
    JobFinding,
    JobOperation,
    ToolLoan,
)
from kits.queries.chosen import counting
from kits.queries.marks import bores_of
from kits.queries.outside import outside_of

STATES = [state.value for state in Job.State]
_ABOUT = ("engine__family", "site", "booked_by__actor")


def jobs() -> QuerySet[Job]:
    """All jobs, each with its engine, family and site."""
    return Job.objects.select_related(*_ABOUT)


def open_numbers() -> list[str]:
    """Numbers of the jobs that are open, those that are fitted first before the others. One query."""
    return list(
        Job.objects.filter(state=Job.State.BOOKED).order_by("fit_on", "number").values_list("number", flat=True)
    )


def search_jobs(rows: QuerySet[Job], text: str) -> QuerySet[Job]:
    """Of these jobs those whose number, or whose engine's number, is near to the text or has it in it; each with its `rank`."""
    near = near_numbers(text, Job.objects.values_list("number", flat=True))
    engines = near_numbers(text, Engine.objects.values_list("number", flat=True))
    found = rows.filter(
        Q(number__in=near)
        | Q(engine__number__in=engines)
        | Q(number__icontains=text)
        | Q(engine__number__icontains=text)
    )
    return by_nearness(found, ("number", near), ("engine__number", engines))


def record(row: Job) -> dict[str, Any]:
    """The record of a job, JSON-ready."""
    return {
        "number": row.number,
        "engine": row.engine.number,
        "family": row.engine.family.code,
        "site": row.site.code,
        "state": row.state,
        "strip_on": row.strip_on,
        "fit_on": row.fit_on,
        "version": row.version,
    }


def full_record(row: Job) -> dict[str, Any]:
    """A job with everything that was booked, found, said and decided on it. Nine queries."""
    return {
        **record(row),
        "cart": row.cart.code,
        "bench": row.bench.code,
        "complaint": row.complaint,
        "hours": str(row.hours) if row.hours is not None else None,
        "kilometres": row.kilometres,
        "operations": [
            {
                "procedure": one.procedure_revision.procedure.code,
                "name": one.procedure_revision.procedure.name,
                "revision": one.procedure_revision.revision,
            }
            for one in _operations(row)
        ],
        "findings": findings(row),
        "choices": _choices(row),
        "bores": _bores(row),
        "dates": [
            {"fit_on": one.fit_on, "reason": one.reason} for one in JobDate.objects.filter(job=row).order_by("pk")
        ],
        "outside_work": outside_of(row),
        "tools_on_loan": list(
            ToolLoan.objects.filter(job=row, back__isnull=True).order_by("tool").values_list("tool", flat=True)
        ),
        "end": _end(row),
    }


def _operations(row: Job) -> list[JobOperation]:
    """Each in the revision that the job works by, in the order in which they were booked."""
    rows = JobOperation.objects.filter(job=row).select_related("procedure_revision__procedure").order_by("pk")
    standing: dict[int, JobOperation] = {}
    for one in rows.defer("procedure_revision__document"):
        standing[one.procedure_revision.procedure_id] = one
    return list(standing.values())


def findings(row: Job) -> list[dict[str, Any]]:
    """Findings of a job, oldest first, each with how it stands: counts, waits for the owner, was refused, or was withdrawn."""
    said: dict[int, bool] = {}
    for finding, approved in Approval.objects.filter(job=row).order_by("pk").values_list("findings", "approved"):
        if finding is not None:
            said[finding] = approved
    rows = (
        JobFinding.objects.filter(job=row, act__corrected_by__isnull=True).select_related("withdrawal").order_by("pk")
    )
    return [
        {
            "id": one.pk,
            "code": one.code,
            "place": one.place,
            "extra_work": one.extra_work,
            "state": _finding_state(one, said.get(one.pk)),
            "note": one.note,
        }
        for one in rows
    ]


def _finding_state(row: JobFinding, approved: bool | None) -> str:
    if getattr(row, "withdrawal", None) is not None:
        return "withdrawn"
    if not row.extra_work or approved:
        return "counts"
    return "waits for the owner" if approved is None else "refused by the owner"


def _choices(row: Job) -> list[dict[str, Any]]:
    """The newest word on each choice and place; bores are shown apart."""
    newest = {(one.choice, one.place): one for one in counting([row])}
    return [
        {"choice": one.choice, "place": one.place, "alternative": one.alternative, "reason": one.reason}
        for one in newest.values()
    ]


def _bores(row: Job) -> list[dict[str, Any]]:
    return [{"position": position, "serial": serial} for position, serial in sorted(bores_of(row).items())]


def _end(row: Job) -> dict[str, Any] | None:
    end = JobEnd.objects.filter(job=row).select_related("checker", "act__actor").first()
    if end is None:
        return None
    return {
        "cancelled": end.cancelled,
        "at": end.act.occurred_at,
        "by": end.act.actor.username,
        "checker": end.checker.username if end.checker else "",
        "reason": end.reason,
    }
