"""What the meters of an engine show: asked about and kept. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act
from inventory.queries.days import shop_day
from inventory.services.run import Body
from kits.domain.terms import ARRIVAL, HOURS, KILOMETRES, Reading, in_base, questions, said
from kits.models import Engine, Job, MeterReading
from kits.queries.terms import readings_of
from kits.services.shared import touch


def engine_called(number: str) -> Engine:
    """The engine of this number, or "not-found"."""
    row = Engine.objects.filter(number=number).first()
    if row is None:
        raise DomainError("not-found", f"There is no engine {number[:40]}.", engine=number[:40])
    return row


def in_order(act: Act, day: date, earliest: date | None = None) -> None:
    """DomainError "dates-turned" for a day after the act, or before the earliest."""
    today = shop_day(act.occurred_at)
    if day > today or (earliest is not None and day < earliest):
        raise DomainError("dates-turned", f"{day} lies after {today}, or before {earliest or 'nothing'}.", on=str(day))


def read_at_arrival(act: Act, job: Job, photo_ref: str, confirmed: str | None, on: date | None = None) -> None:
    """What the meters showed when the job was booked, or on the day: readings as any others, asked about as they are."""
    for meter, shows in ((HOURS, job.hours), (KILOMETRES, job.kilometres)):
        if shows is not None:
            new = Reading(on or shop_day(act.occurred_at), in_base(Decimal(shows), meter), ARRIVAL)
            record_reading(act, job.engine, new, meter, photo_ref, confirmed)


def job_booked_with(reading: int) -> Job | None:
    """The job that was booked with a reading, to be locked before the engine is; None where it was read otherwise, or is not on record."""
    acts = MeterReading.objects.filter(pk=reading).values("act")
    return Job.objects.filter(booked_by__in=acts, engine__meter_readings=reading).first()


def unsay_at_booking(reading: MeterReading, job: Job) -> None:
    """The (locked) job that was booked with the reading says nothing of that meter any more."""
    job.refresh_from_db(fields=["version"])
    Job.objects.filter(pk=job.pk).update(**{reading.meter: None})
    touch(job)


def ask(asked: Sequence[str], confirmed: str | None) -> None:
    """What is asked about meters is confirmed with its reason. DomainError "reading-asked", "reason-missing"."""
    if asked and confirmed is None:
        raise DomainError(
            "reading-asked",
            f"Is that right? {'; '.join(asked)}.",
            ways_out=("Read it again.", "Record a changed meter.", "Confirm it, with the reason: both are kept."),
            questions=list(asked),
        )
    if asked and not (confirmed or "").strip():
        raise DomainError("reason-missing", "A reading that was asked about needs its reason.", questions=list(asked))


def record_reading(act: Act, engine: Engine, new: Reading, meter: str, photo_ref: str, confirmed: str | None) -> Body:
    """One reading, asked about and kept; `confirmed` is the reason for which it stands whatever is asked.

    Raises DomainError "dates-turned", "reading-asked", "reason-missing".
    """
    in_order(act, new.on)
    locks.row("kits_engine", [engine.pk])
    asked = questions(readings_of(engine)[meter], new, meter, photographed=bool(photo_ref.strip()))
    ask(asked, confirmed)
    outcome = {
        "engine": engine.number, "meter": meter, "on": new.on, "shows": said(new.amount, meter), "asked": list(asked),
    }  # fmt: skip
    MeterReading.objects.create(
        engine=engine,
        act=act,
        meter=meter,
        moment=new.moment,
        read_on=new.on,
        amount=new.amount,
        begins=new.begins,
        photo_ref=photo_ref,
        asked="; ".join(asked),
    )
    return outcome
