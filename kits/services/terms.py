"""The engine goes to the customer, and its meters are read: what its term runs on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.terms import CHANGE, MOMENTS, Reading, in_base
from kits.models import EngineHandover, Fitting, Job, MeterReading, MeterReadingWithdrawal
from kits.queries.build import newest_run
from kits.queries.documents import family_of
from kits.queries.scope import job_by_number
from kits.queries.stopped_inside import stopped_inside
from kits.queries.terms import ran
from kits.services.meters import engine_called, in_order, job_booked_with, record_reading, unsay_at_booking
from kits.services.shared import lock_engine, touch

LIFTS_STOPS = "inventory.act_free"


def hand_engine_over(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    handed_over_on: date,
    used_in: str = "",
    new_term: bool = True,
    confirmed: bool = False,
    reason: str = "",
) -> Done:
    """The engine of a closed job goes to the customer; its term runs from that day.

    used_in   where the engine works; needed where a limit of the family counts in one kind of place alone
    new_term  False for a rework inside a term: that one goes on
    confirmed it goes out although something in it is stopped, with the reason; only by who may lift stops

    Where anything was fitted and the family states limits of the first run, that run is on record, good, released, and not later than
    the hand-over.
    Outcome: {"job", "engine", "handed_over_on", "new_term", "stopped": what is stopped in the engine [{position, item, part, called}]}.
    Raises DomainError "not-found", "job-not-closed", "handed-over-already", "dates-turned", "nothing-given", "run-missing",
    "run-not-good", "lot-stopped", "reason-missing".
    """

    def work(act: Act) -> Body:
        row = job_by_number(job)
        locks.row("kits_job", [row.pk])
        lock_engine(row)  # its term may begin, which acts on another job of the engine go by
        row.refresh_from_db(fields=["state", "version"])
        if row.state != Job.State.CLOSED:
            raise DomainError("job-not-closed", f"Job {job} is {row.state}: an engine goes out when its job is closed.")
        if EngineHandover.objects.filter(job=row, act__corrected_by__isnull=True).exists():
            raise DomainError("handed-over-already", f"The engine of job {job} was handed over already.", job=job)
        in_order(act, handed_over_on, row.strip_on)
        _refuse_not_run(row, handed_over_on)
        stopped = stopped_inside(row.engine)
        if stopped:
            _refuse_stopped(actor, stopped, confirmed, reason)
        warranty = family_of(row.family_revision).warranty
        if warranty is not None and warranty.running_where and not used_in.strip():
            raise DomainError(
                "nothing-given", f"Say where the engine works: hours count in {a(warranty.running_where)} alone."
            )
        EngineHandover.objects.create(
            job=row, act=act, handed_over_on=handed_over_on, used_in=used_in, new_term=new_term
        )
        touch(row)
        return {
            "job": job,
            "engine": row.engine.number,
            "handed_over_on": handed_over_on,
            "new_term": new_term,
            "stopped": stopped,
        }

    said = {"handed_over_on": handed_over_on, "used_in": used_in, "new_term": new_term}
    request = {"job": job, **said, "confirmed": confirmed, "reason": reason}
    return run("hand engine over", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _refuse_stopped(actor: Person, stopped: Sequence[Body], confirmed: bool, reason: str) -> None:
    """What was stopped after the job was closed is asked about as well: who may lift a stop may let it go out, with a reason."""
    named = "; ".join(f"{one['called']} at {one['position']}" for one in stopped)
    if not confirmed or not actor.has_perm(LIFTS_STOPS):
        raise DomainError(
            "lot-stopped",
            f"In the engine is stopped: {named}.",
            ways_out=(
                "Book the engine in again, and take it out.",
                "Have the stop lifted.",
                "Somebody who may lift stops confirms that it goes out so, with the reason.",
            ),
            stopped=list(stopped),
        )
    if not reason.strip():
        raise DomainError("reason-missing", f"In the engine is stopped: {named}. Why does it go out?")


def _refuse_not_run(job: Job, handed_over_on: date) -> None:
    """An engine that was built here goes out after its first run, where the family says what that has to show."""
    if not family_of(job.family_revision).build.run:
        return
    if not Fitting.objects.filter(job=job, act__corrected_by__isnull=True).exists():
        return
    first = newest_run(job)
    if first is None:
        raise DomainError(
            "run-missing",
            f"Parts were fitted on job {job.number}, and no first run is on record.",
            ways_out=("Run the engine and record what it showed.",),
            job=job.number,
        )
    if not first.good or first.released_by is None:
        said = "nobody released the engine" if first.good else "it was not good"
        raise DomainError(
            "run-not-good",
            f"The first run of {first.run_on}: {said}.",
            ways_out=("Put right what it showed, run it again and have it released.",),
            job=job.number,
            run_on=first.run_on.isoformat(),
        )
    if first.run_on > handed_over_on:
        raise DomainError(
            "dates-turned",
            f"The engine ran first on {first.run_on}: it goes out no earlier.",
            run_on=first.run_on.isoformat(),
        )


def read_meter(
    *,
    actor: Person,
    stamp: Stamp,
    engine: str,
    meter: str,
    moment: str,
    read_on: date,
    shows: Decimal,
    photo_ref: str = "",
    confirmed: bool = False,
    reason: str = "",
) -> Done:
    """Record what a meter ("hours", "kilometres") of an engine shows at "arrival", "hand-over" or "claim".

    photo_ref  where the photograph is kept
    confirmed  it stands although it is lower than an earlier reading (or higher than a later one) or was not photographed, with
               the reason; both readings are kept

    Outcome: {"engine", "meter", "on", "shows", "asked": what was asked}. Raises DomainError "not-found", "meter-unknown",
    "amount-negative", "dates-turned", "reading-asked" (`questions`), "reason-missing".
    """
    facts = {"meter": meter, "photo_ref": photo_ref, "confirmed": confirmed, "reason": reason}
    request = {"engine": engine, "moment": moment, "read_on": read_on, "shows": str(shows), **facts}

    def work(act: Act) -> Body:
        if moment not in MOMENTS:
            raise DomainError("meter-unknown", f"{moment[:40]!r} is none of {', '.join(MOMENTS)}.", moment=moment[:40])
        new = Reading(read_on, in_base(shows, meter), moment)
        return record_reading(act, engine_called(engine), new, meter, photo_ref, reason if confirmed else None)

    return run("read meter", work, actor=actor, stamp=stamp, request=request, subject=engine, reason=reason)


def change_meter(
    *,
    actor: Person,
    stamp: Stamp,
    engine: str,
    meter: str,
    changed_on: date,
    old_shows: Decimal,
    new_begins_at: Decimal,
    photo_ref: str = "",
    confirmed: bool = False,
    reason: str = "",
) -> Done:
    """Record that a meter of an engine was changed: what the old one showed when it came out, what the new one begins at.

    The running total goes on over it. Questions, outcome and errors are those of `read_meter`.
    """
    facts = {"meter": meter, "photo_ref": photo_ref, "confirmed": confirmed, "reason": reason}
    request = {
        "engine": engine, "changed_on": changed_on, "old_shows": str(old_shows), "new_begins_at": str(new_begins_at), **facts,
    }  # fmt: skip

    def work(act: Act) -> Body:
        new = Reading(changed_on, in_base(old_shows, meter), CHANGE, in_base(new_begins_at, meter))
        return record_reading(act, engine_called(engine), new, meter, photo_ref, reason if confirmed else None)

    return run("change meter", work, actor=actor, stamp=stamp, request=request, subject=engine, reason=reason)


def withdraw_meter_reading(*, actor: Person, stamp: Stamp, engine: str, reading_id: int, reason: str) -> Done:
    """A meter's reading or change turned out wrong: it stays on record with the reason, and never counted. What was said when a job was
    booked is not said of that job any more.

    Outcome: {"reading", "reason", "ran": meter → what the engine ran by the readings that are left}.
    Raises DomainError "not-found", "withdrawn-already", "reason-missing".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", f"Why does reading {reading_id} not count?")
        row = engine_called(engine)
        booked = job_booked_with(reading_id)
        locks.row("kits_job", [booked.pk] if booked else [])
        locks.row("kits_engine", [row.pk])
        found = MeterReading.objects.filter(engine=row, pk=reading_id).select_related("withdrawal").first()
        if found is None:
            raise DomainError("not-found", f"Engine {engine} has no reading {reading_id}.", reading=reading_id)
        end = getattr(found, "withdrawal", None)
        if end is not None:
            raise DomainError(
                "withdrawn-already", f"Reading {reading_id} was withdrawn: {end.reason}", reading=reading_id
            )
        MeterReadingWithdrawal.objects.create(reading=found, act=act, reason=reason)
        if booked is not None:
            unsay_at_booking(found, booked)
        return {"reading": reading_id, "reason": reason, "ran": ran(row)}

    request = {"engine": engine, "reading": reading_id, "reason": reason}
    return run("withdraw meter reading", work, actor=actor, stamp=stamp, request=request, subject=engine, reason=reason)
