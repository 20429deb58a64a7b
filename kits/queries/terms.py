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
        "readings": [_said(row) for row in rows],
        "ran": ran(engine),
    }


def ran(engine: Engine) -> dict[str, str]:
    """Meter → what the engine ran by it, for a person. One query."""
    return {meter: said(totals(read)[-1].amount, meter) for meter, read in readings_of(engine).items() if read}


def _said(row: MeterReading) -> dict[str, Any]:
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
    if handover is None:
        return term(None, None, "", {}, on), None
    warranty = family_of(handover.job.family_revision).warranty
    return term(warranty, handover.handed_over_on, handover.used_in, readings_of(engine), on), handover


def term_record(engine: Engine, on: date) -> dict[str, Any]:
    """`term_on`, JSON-ready."""
    found, handover = term_on(engine, on)
    return {
        "engine": engine.number,
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
