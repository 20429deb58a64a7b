"""The owner of an engine claims: the claim is entered as it was told, and what it concerns is named as it becomes known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.services import lookup
from inventory.services.run import Body, Done, Stamp, plain, run
from kits.domain.owner_claims import JobDone, ThingIn, job_claimed
from kits.domain.terms import CLAIM, Reading, in_base, limits_in, not_read, questions
from kits.models import ClaimThing, ClaimThingWithdrawal, Engine, EngineHandover, Job, OwnerClaim
from kits.queries.documents import family_of
from kits.queries.engines import engine_by_number
from kits.queries.scope import job_by_number
from kits.queries.terms import handover_of, readings_of, term_from, term_said
from kits.services.claim_rules import add_things, open_claim, repeated
from kits.services.meters import ask, in_order, record_reading

MOST_PHOTOS = 200


@dataclass(frozen=True, slots=True)
class MeterIn:
    """What a meter showed on the day of the claim: hours or kilometres, to a tenth."""

    meter: str
    shows: Decimal
    photo_ref: str = ""


def enter_claim(
    *,
    actor: Person,
    stamp: Stamp,
    engine: str,
    told_on: date,
    told_by: str,
    what: str,
    job: str = "",
    things: Sequence[ThingIn] = (),
    meters: Sequence[MeterIn] = (),
    photos: Sequence[str] = (),
    confirmed: bool = False,
    reason: str = "",
) -> Done:
    """The owner of an engine says that something of a job's work failed. It is judged at once whether that day lies inside the term.

    told_by    owner, dealer, skipper, …: not a name
    what       what is wrong, in the words of who told it
    job        whose work is claimed; "" for the last that was handed over, and asked about where that is not clear
    meters     read on that day. Lower than before, not photographed, or not read though the term has a limit of it: it is asked,
               and stands once it is `confirmed` with the reason
    photos     where photographs are kept

    Outcome: {"claim", "engine", "job", "told_on", "term": as `term_record` has it without the engine, "asked", "things": [{thing,
    position, item}], "repeats": [{claim, position}] of earlier claims on the same positions of this engine}.
    Raises DomainError "engine-unknown", "not-found" (job), "job-not-closed", "claim-job-unclear", "dates-turned", "nothing-given", "too-many-lines", "reading-asked",
    "reason-missing", and those of `add_things`.
    """
    request = {
        "engine": engine, "told_on": told_on, "told_by": told_by, "what": what, "job": job,
        "things": [asdict(one) for one in things], "meters": [asdict(one) for one in meters], "photos": list(photos),
        "confirmed": confirmed, "reason": reason,
    }  # fmt: skip

    def work(act: Act) -> Body:
        _need_words(told_by=told_by, what=what)
        if len(photos) > MOST_PHOTOS:
            raise DomainError("too-many-lines", f"{len(photos)} photos; {MOST_PHOTOS} go in one act.", most=MOST_PHOTOS)
        row = engine_by_number(engine)
        locks.row("kits_engine", [row.pk])
        claimed = _job(row, job, told_on)
        in_order(act, told_on, claimed.strip_on)
        asked = _read_meters(act, row, claimed, told_on, meters, reason if confirmed else None)
        handover = handover_of(claimed)
        judged = plain(term_said(told_on, term_from(row, told_on, handover), handover))
        claim = OwnerClaim.objects.create(
            act=act, engine=row, job=claimed, told_on=told_on, told_by=told_by.strip(), what=what.strip(),
            photos=list(photos), term=judged, asked="; ".join(asked),
        )  # fmt: skip
        return {
            "claim": claim.pk,
            "engine": row.number,
            "job": claimed.number,
            "told_on": told_on,
            "term": judged,
            "asked": asked,
            "things": add_things(act, claim, things),
            "repeats": repeated(claim),
        }

    return run("enter claim", work, actor=actor, stamp=stamp, request=request, subject=engine, reason=reason)


def name_things(*, actor: Person, stamp: Stamp, claim: int, things: Sequence[ThingIn]) -> Done:
    """Name what an open claim concerns, as far as it is known by now; what was named before stays.

    Outcome: {"claim", "things": [{thing, position, item}], "repeats": as in `enter_claim`, of all that is named}.
    Raises DomainError "not-found", "claim-ended", "nothing-given", and those of `add_things`.
    """

    def work(act: Act) -> Body:
        row = open_claim(claim)
        if not things:
            raise DomainError("nothing-given", "No position was named.")
        return {"claim": row.pk, "things": add_things(act, row, things), "repeats": repeated(row)}

    request = {"claim": claim, "things": [asdict(one) for one in things]}
    return run("name things of claim", work, actor=actor, stamp=stamp, request=request, subject=str(claim))


def withdraw_thing(*, actor: Person, stamp: Stamp, claim: int, thing: int, reason: str) -> Done:
    """The claim does not concern that thing after all: it stays on record with the reason, and counts no more.

    Outcome: {"claim", "thing", "reason"}. Raises DomainError "not-found", "claim-ended", "withdrawn-already", "reason-missing".
    """

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"Why does claim {claim} not concern thing {thing}?")
        row = open_claim(claim)
        found = ClaimThing.objects.filter(claim=row, pk=thing).select_related("withdrawal").first()
        if found is None:
            raise DomainError("not-found", f"Claim {claim} names no thing {thing}.", thing=thing)
        if hasattr(found, "withdrawal"):
            raise DomainError(
                "withdrawn-already", f"Thing {thing} was withdrawn: {found.withdrawal.reason}", thing=thing
            )
        ClaimThingWithdrawal.objects.create(thing=found, act=act, reason=reason.strip())
        return {"claim": row.pk, "thing": thing, "reason": reason.strip()}

    request = {"claim": claim, "thing": thing, "reason": reason}
    return run(
        "withdraw thing of claim", work, actor=actor, stamp=stamp, request=request, subject=str(claim), reason=reason
    )


def _need_words(**words: str) -> None:
    for name, text in words.items():
        if not text.strip():
            raise DomainError("nothing-given", f"A claim says {name.replace('_', ' ')}.", field=name)


def _job(engine: Engine, named: str, on: date) -> Job:
    """The closed job whose work is claimed. DomainError "not-found", "job-not-closed", "claim-job-unclear"."""
    if not named:
        jobs = list(
            Job.objects.filter(engine=engine, state=Job.State.CLOSED)
            .select_related("end__act", "booked_by")
            .order_by("end__act_id", "pk")
        )
        out = {
            row.job_id: row
            for row in EngineHandover.objects.filter(job__in=jobs, act__corrected_by__isnull=True).order_by("pk")
        }
        named = job_claimed(engine.number, [_done(one, out.get(one.pk)) for one in jobs], on)
    row = job_by_number(named)
    if row.engine_id != engine.pk:
        raise DomainError(
            "not-found", f"Job {named} was not done on engine {engine.number}.", job=named, engine=engine.number
        )
    if row.state != Job.State.CLOSED:
        raise DomainError("job-not-closed", f"Job {named} is {row.state}: its work is claimed once it is closed.")
    return row


def _done(job: Job, out: EngineHandover | None) -> JobDone:
    end = getattr(job, "end", None)  # every closed job has one
    closed_on = shop_day(end.act.occurred_at if end is not None else job.booked_by.occurred_at)
    return (
        JobDone(job.number, closed_on)
        if out is None
        else JobDone(job.number, closed_on, out.handed_over_on, out.new_term)
    )


def _read_meters(
    act: Act, engine: Engine, job: Job, on: date, meters: Sequence[MeterIn], confirmed: str | None
) -> list[str]:
    """The meters as they were read for the claim, asked about all together; what was asked."""
    known = readings_of(engine)
    new = {one.meter: Reading(on, in_base(one.shows, one.meter), CLAIM) for one in meters}
    if len(new) < len(meters):
        raise DomainError("done-already", "One meter was read twice for the claim.")
    asked: list[str] = []
    for one in meters:
        found = questions(known[one.meter], new[one.meter], one.meter, photographed=bool(one.photo_ref.strip()))
        asked += [f"{one.meter}: {question}" for question in found]
    handover = handover_of(job)
    warranty = family_of(handover.job.family_revision).warranty if handover else None
    if handover is not None and warranty is not None:
        read = known | {meter: [*known[meter], row] for meter, row in new.items()}
        asked += [
            f"{meter}: not read on the day of the claim, and the term has a limit of it"
            for meter in not_read(limits_in(warranty, handover.used_in), read, on)
        ]
    ask(asked, confirmed)
    for one in meters:
        record_reading(act, engine, new[one.meter], one.meter, one.photo_ref, confirmed)
    return asked
