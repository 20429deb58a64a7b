"""Work after the first run past its day: which engines are not back for it, who owns them, and the letter to the owner."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.models import Owner
from kits.domain.build_checks import due_lines
from kits.domain.letters import SERVICE_CAUTION, LateWork, service_letter
from kits.models import AfterRunDone, FirstRun, Job
from kits.queries.documents import family_of
from kits.queries.engine_owners import owners_on
from kits.queries.service_parts import Kept, service_parts


@dataclass(frozen=True, slots=True)
class ServiceDue:
    """Of one job: how much work its first run brought with it (`due` = `done` + `open`), and what of it is past its day.

    held     part → what is held of it for such work
    back_on  a later job on the engine whose day of strip has come; empty: the engine is not back
    """

    job: Job
    run_on: date
    due: int
    done: int
    open: int
    late: tuple[LateWork, ...]
    back_on: str
    held: Mapping[str, Kept]


def services_due(on: date, job: Job | None = None) -> list[ServiceDue]:
    """Jobs with work past its last day, the longest first run ago first; of all jobs, or of one. Four queries.

    By days alone: nobody reads the meter of an engine that is not here. An engine that ran for the first time again since, on a
    later job, goes by that one.
    """
    rows = FirstRun.objects.filter(act__corrected_by__isnull=True).exclude(job__state=Job.State.CANCELLED)
    if job is not None:
        rows = rows.filter(job__engine=job.engine_id)
    newest: dict[int, FirstRun] = {}
    for run in rows.select_related("job__engine__family", "job__family_revision").order_by("pk"):
        newest[run.job.engine_id] = run
    runs = [run for run in newest.values() if job is None or run.job_id == job.pk]
    done: dict[int, dict[str, date]] = defaultdict(dict)
    marked = AfterRunDone.objects.filter(job__in=[run.job_id for run in runs], act__corrected_by__isnull=True)
    since = {run.job_id: run.act_id for run in runs}
    for row in marked.order_by("pk"):
        if row.act_id > since[row.job_id]:
            done[row.job_id][row.what] = row.done_on
    back = _back([run.job for run in runs], on)
    kept = service_parts([run.job.engine_id for run in runs])
    found = [
        _due(run, done[run.job_id], on, back.get(run.job_id, ""), _of_engine(kept, run.job.engine_id)) for run in runs
    ]
    return sorted((one for one in found if one.late), key=lambda one: (one.run_on, one.job.number))


def _back(jobs: list[Job], on: date) -> dict[int, str]:
    """Job → a later one on its engine that is open and was to be stripped by the day: one that is booked for later brings nothing in."""
    ran = {job.engine_id: job.pk for job in jobs}
    rows = Job.objects.filter(engine__in=ran, state=Job.State.BOOKED, strip_on__lte=on).order_by("pk")
    return {
        ran[engine]: number for pk, engine, number in rows.values_list("pk", "engine_id", "number") if pk > ran[engine]
    }


def _of_engine(kept: Mapping[tuple[int, str], Kept], engine: int) -> dict[str, Kept]:
    return {part: one for (owner, part), one in kept.items() if owner == engine}


def _due(run: FirstRun, done: dict[str, date], on: date, back_on: str, held: Mapping[str, Kept]) -> ServiceDue:
    lines = due_lines(family_of(run.job.family_revision).build.after, run.run_on, done, on)
    late = tuple(
        LateWork(
            one.work.what,
            one.on,
            (on - one.on).days,
            tuple(_said(part, amount, held) for part, amount in one.work.parts),
        )
        for one in lines
        if one.late and one.on is not None
    )
    ready = sum(1 for one in lines if one.done_on is not None)
    return ServiceDue(run.job, run.run_on, len(lines), ready, len(lines) - ready, late, back_on, held)


def _said(part: str, amount: str, held: Mapping[str, Kept]) -> str:
    """A part that the work takes, and whether it lies ready."""
    kept = held.get(part)
    return f"{amount} {part}, " + (f"{kept.shown} held on {kept.job}" if kept else "not held")


def service_letters(on: date) -> list[dict[str, Any]]:
    """A letter for each engine that is not back for its work, with whom to reach, JSON-ready. Personal data. Five queries."""
    due = [one for one in services_due(on) if not one.back_on]
    owners = owners_on([one.job.engine_id for one in due], on) if due else {}
    return [_letter(one, on, owners.get(one.job.engine_id)) for one in due]


def _letter(one: ServiceDue, on: date, owner: Owner | None) -> dict[str, Any]:
    engine = one.job.engine
    return {
        "job": one.job.number,
        "engine": engine.number,
        "run_on": one.run_on,
        "due": one.due,
        "done": one.done,
        "open": one.open,
        "lines": [
            {"what": line.what, "due_on": line.due_on, "days": line.days, "parts": list(line.parts)}
            for line in one.late
        ],
        "owner": None
        if owner is None
        else {
            "id": owner.pk,
            "name": owner.name,
            "address": owner.address,
            "telephone": owner.telephone,
            "email": owner.email,
        },
        "text": service_letter(
            name=owner.name if owner else "",
            address=owner.address if owner else "",
            engine=engine.number,
            family=engine.family.name,
            job=one.job.number,
            run_on=one.run_on,
            on=on,
            lines=one.late,
        ),
        "caution": SERVICE_CAUTION,
    }
