"""Meters of an engine as they were read, and whether a day lies inside its term."""

from __future__ import annotations

from datetime import date
from typing import Any

from kits.domain.terms import HOURS, KILOMETRES, Reading, Term, said, term, totals
from kits.models import Engine, EngineHandover, Job, MeterReading
from kits.queries.documents import family_of


def readings_of(engine: Engine) -> dict[str, list[Reading]]:
    """Meter → its readings that were not withdrawn, oldest record first. One query."""
    found: dict[str, list[Reading]] = {HOURS: [], KILOMETRES: []}
    for row in MeterReading.objects.filter(engine=engine, withdrawal__isnull=True).order_by("pk"):
        found[row.meter].append(Reading(row.read_on, row.amount, row.moment, row.begins))
    return found


def readings_record(engine: Engine) -> dict[str, Any]:
    """Everything that was read and changed, as it is on record, and what the engine ran by each meter. Four queries."""
    rows = MeterReading.objects.filter(engine=engine).select_related("act__actor", "withdrawal").order_by("pk")
    jobs = Job.objects.filter(engine=engine).order_by("pk")
    return {
        "engine": engine.number,
        "at_booking": [
            {
                "job": job.number,
                "hours": str(job.hours) if job.hours is not None else None,
                "kilometres": job.kilometres,
            }
            for job in jobs
            if job.hours is not None or job.kilometres is not None
        ],
        "readings": [reading_said(row) for row in rows],
        "ran": ran(engine),
    }


def ran(engine: Engine) -> dict[str, str]:
    """Meter → what the engine ran by it, for a person. One query."""
    return {meter: said(totals(read)[-1].amount, meter) for meter, read in readings_of(engine).items() if read}


def reading_said(row: MeterReading) -> dict[str, Any]:
    """A reading as it is on record, JSON-ready; read with its act, actor and withdrawal."""
    return {
        "id": row.pk,
        "meter": row.meter,
        "moment": row.moment,
        "on": row.read_on,
        "shows": said(row.amount, row.meter),
        "new_begins_at": said(row.begins, row.meter) if row.begins is not None else "",
        "photo": row.photo_ref,
        "asked": row.asked,
        "reason": row.act.reason,
        "by": row.act.actor.username,
        "act": row.act_id,
        "withdrawn": row.withdrawal.reason if hasattr(row, "withdrawal") else "",
    }


def handover_for(engine: Engine, on: date) -> EngineHandover | None:
    """The hand-over, not taken back, whose term a day belongs to: the newest on or before it that began one; else the first later one. One query."""
    rows = list(
        EngineHandover.objects.filter(job__engine=engine, new_term=True, act__corrected_by__isnull=True)
        .select_related("job__family_revision")
        .order_by("handed_over_on", "pk")
    )
    past = [row for row in rows if row.handed_over_on <= on]
    return past[-1] if past else rows[0] if rows else None


def term_on(engine: Engine, on: date) -> tuple[Term, EngineHandover | None]:
    """Whether the day lies inside the engine's term, and the hand-over that it runs from. Four queries at most.

    The limits are those of the family's document that the job was booked with.
    """
    handover = handover_for(engine, on)
    return term_from(engine, on, handover), handover


def term_from(engine: Engine, on: date, handover: EngineHandover | None) -> Term:
    """Whether the day lies inside the term that runs from a hand-over; None: no hand-over is on record. Three queries at most."""
    if handover is None:
        return term(None, None, "", {}, on)
    warranty = family_of(handover.job.family_revision).warranty
    return term(warranty, handover.handed_over_on, handover.used_in, readings_of(engine), on)


def handover_of(job: Job) -> EngineHandover | None:
    """The hand-over whose term a job's work stands under: its own, or, after a rework inside an earlier term, the one that began it;
    None where the engine did not go out after it. One query."""
    rows = list(
        EngineHandover.objects.filter(job__engine=job.engine_id, act__corrected_by__isnull=True)
        .select_related("job__family_revision")
        .order_by("handed_over_on", "pk")
    )
    own = next((number for number, row in enumerate(rows) if row.job_id == job.pk), None)
    return None if own is None else next((row for row in reversed(rows[: own + 1]) if row.new_term), None)


def term_record(engine: Engine, on: date) -> dict[str, Any]:
    """`term_on`, JSON-ready."""
    return {"engine": engine.number, **term_said(on, *term_on(engine, on))}


def term_said(on: date, found: Term, handover: EngineHandover | None) -> dict[str, Any]:
    """A term for a day and the hand-over that it runs from, JSON-ready."""
    return {
        "on": on,
        "begun": found.begun,
        "within": found.within,
        "why": found.why,
        "job": handover.job.number if handover else "",
        "handed_over_on": handover.handed_over_on if handover else None,
        "used_in": handover.used_in if handover else "",
        "ends_on": found.ends_on,
        "limits": [{"limit": one.limit, "within": one.within, "why": one.why} for one in found.checks],
    }
