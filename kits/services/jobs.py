"""Booking a job and what changes its scope: operations, findings, the owner's word, choices, dates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal

from inventory.domain.errors import DomainError, ManyErrors
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.engine_map import ENGINE
from kits.domain.extra_hours import read_limit
from kits.domain.families import Family
from kits.domain.fills import read_fill
from kits.domain.findings import Finding, check_finding
from kits.domain.settled import BUY_IN, FILL, NONE
from kits.models import (
    Approval,
    FindingWithdrawal,
    Job,
    JobFinding,
)
from kits.queries.by_number import ranges_of_job
from kits.queries.documents import family_of
from kits.queries.to_return import to_return_if_listed
from kits.services.booking import Booking, book, freeze_operations, near_a_new_one, refuse_known
from kits.services.choosing import PART, Word, check_part, choose, lock_candidates
from kits.services.given_up import give_up_unasked
from kits.services.shared import open_job, touch
from kits.services.standing import refuse_twice, standing_findings


@dataclass(frozen=True, slots=True)
class FindingIn:
    """A finding code of the family at a place of the engine; `place` empty means the whole engine."""

    code: str
    place: str = "ENGINE"
    note: str = ""


def book_job(
    *,
    actor: Person,
    stamp: Stamp,
    number: str,
    engine_number: str,
    site: str,
    operations: Sequence[str],
    strip_on: date,
    fit_on: date,
    findings: Sequence[FindingIn] = (),
    new_engine: bool = False,
    owner_id: int | None = None,
    new_owner: bool = False,
    complaint: str = "",
    hours: Decimal | None = None,
    kilometres: int | None = None,
    photo_ref: str = "",
    confirmed: bool = False,
    reason: str = "",
) -> Done:
    """Book a rebuild job. Makes its cart and bench places.

    operations  procedure codes; their newest revisions are frozen on the job, as is the family's
    findings    what is booked from the start (cylinders chosen, …): within the booked scope, no approval needed
    new_engine  the engine is not on record yet and shall be
    owner_id, new_owner  whose engine it is; another owner than on record is taken only where `new_owner` says that it changed hands
    photo_ref, confirmed, reason  of the meters at arrival, as `read_meter` takes them: a reading among the engine's others

    Raises DomainError "reading-asked", "reason-missing", "dates-turned", "engine-number-unreadable", "engine-unknown" (near misses in `near`), "not-found", "job-exists" (the number however it is written), "owner-differs",
    "nothing-given", findings' errors as ManyErrors. Outcome: {"job", "engine", "family", "cart", "bench", "operations",
    "number_ranges": [{numbers, part, fits, at, procedures}], "near": engines on record that a new one may have been meant as}.
    """
    request = {
        "number": number, "engine_number": engine_number, "site": site, "operations": list(operations),
        "strip_on": strip_on, "fit_on": fit_on, "findings": [asdict(one) for one in findings], "new_engine": new_engine,
        "owner": owner_id, "new_owner": new_owner, "complaint": complaint, "hours": hours, "kilometres": kilometres,
        "photo_ref": photo_ref, "confirmed": confirmed, "reason": reason,
    }  # fmt: skip

    def work(act: Act) -> Body:
        asked = Booking(
            number, engine_number, site, operations, strip_on, fit_on, new_engine=new_engine, owner_id=owner_id,
            new_owner=new_owner, complaint=complaint, hours=hours, kilometres=kilometres, photo_ref=photo_ref,
            confirmed=reason if confirmed else None,
        )  # fmt: skip
        refuse_known(number)
        near = near_a_new_one(engine_number) if new_engine else []
        job, added = book(act, asked)
        _add_findings(act, job, family_of(job.family_revision), findings, extra_work=False)
        return _booked(job, added, near)

    return run("book job", work, actor=actor, stamp=stamp, request=request, subject=number, reason=reason)


def _booked(job: Job, operations: Sequence[Body], near: Sequence[str]) -> Body:
    return {
        "job": job.number,
        "engine": job.engine.number,
        "family": job.engine.family.code,
        "cart": job.cart.code,
        "bench": job.bench.code,
        "operations": list(operations),
        "number_ranges": ranges_of_job(job),
        "near": list(near),
    }


def _add_findings(
    act: Act, job: Job, family: Family, findings: Sequence[FindingIn], *, extra_work: bool
) -> list[JobFinding]:
    standing = standing_findings(job) if findings else {}
    named: dict[tuple[str, str], int] = {}
    errors: list[tuple[int, DomainError]] = []
    for number, one in enumerate(findings, 1):
        try:
            check_finding(Finding(one.code, one.place), family.findings, family.map)
            refuse_twice(one.code, one.place, standing, named)
        except DomainError as error:
            errors.append((number, error))
        named.setdefault((one.code, one.place), number)
    if errors:
        raise ManyErrors(tuple(errors))
    return JobFinding.objects.bulk_create(
        [
            JobFinding(job=job, act=act, code=one.code, place=one.place, extra_work=extra_work, note=one.note)
            for one in findings
        ]
    )


def record_findings(
    *, actor: Person, stamp: Stamp, job: str, findings: Sequence[FindingIn], extra_work: bool = False
) -> Done:
    """Record what the strip found.

    extra_work  beyond the booked scope: it waits for the owner's recorded approval and is on no list until then

    What is on the job at that place and was not withdrawn is not recorded again ("finding-on-job", with its id): the owner who
    refused it is asked again by a new word on that finding. Outcome: {"findings": [{"id", "code", "place"}], "waiting": bool}.
    """
    request = {"job": job, "findings": [asdict(one) for one in findings], "extra_work": extra_work}

    def work(act: Act) -> Body:
        if not findings:
            raise DomainError("nothing-given", "No finding was given.")
        row = open_job(job)
        made = _add_findings(act, row, family_of(row.family_revision), findings, extra_work=extra_work)
        touch(row)
        return {
            "findings": [{"id": one.pk, "code": one.code, "place": one.place} for one in made],
            "waiting": extra_work,
        }

    return run("record findings", work, actor=actor, stamp=stamp, request=request, subject=job)


def withdraw_finding(*, actor: Person, stamp: Stamp, job: str, finding_id: int, reason: str) -> Done:
    """A finding turned out wrong: the list shrinks, what was issued for it is to be returned. Nothing is deleted.

    What is held stays held until somebody releases it (`release_unasked`): the finding may be recorded again. Outcome: {"withdrawn",
    "code", "place", "to_return": what the job has and asks for no longer, as `kits/queries/to_return.py` says it, or
    None while no list can be worked out}.
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "Withdrawing a finding needs a reason.")
        row = open_job(job)
        finding = JobFinding.objects.filter(job=row, pk=finding_id).first()
        if finding is None:
            raise DomainError("not-found", f"Job {job} has no finding {finding_id}.", finding=finding_id)
        if FindingWithdrawal.objects.filter(finding=finding).exists():
            raise DomainError("withdrawn-already", f"Finding {finding_id} was withdrawn already.", finding=finding_id)
        FindingWithdrawal.objects.create(finding=finding, act=act, reason=reason)
        touch(row)
        left = to_return_if_listed(row, shop_day(act.occurred_at))
        return {"withdrawn": finding_id, "code": finding.code, "place": finding.place, "to_return": left}

    return run(
        "withdraw finding", work, actor=actor, stamp=stamp, subject=job, reason=reason,
        request={"job": job, "finding": finding_id, "reason": reason},
    )  # fmt: skip


def record_approval(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    findings: Sequence[int],
    approved: bool,
    given_by: str,
    how: str,
    limit_coins: int | None = None,
    limit_hours: str = "",
) -> Done:
    """The owner's word on extra work: who gave it (their role), how, up to what sum and how many hours ("10 h", empty: not limited).

    A no frees what was held for the work alone. Outcome: {"approval", "approved", "findings", "released": holds that ended}.
    """

    def work(act: Act) -> Body:
        limit_s = read_limit(limit_hours)
        if not given_by.strip() or not how.strip():
            raise DomainError("reason-missing", "Say who gave the word, and how.")
        row = open_job(job)
        wanted = list(JobFinding.objects.filter(job=row, pk__in=findings))
        missing = sorted(set(findings) - {one.pk for one in wanted})
        if missing or not wanted:
            raise DomainError("not-found", f"Job {job} has no finding {missing}.", findings=missing)
        approval = Approval.objects.create(
            job=row, act=act, approved=approved, given_by=given_by, how=how, limit_coins=limit_coins, limit_s=limit_s
        )
        approval.findings.add(*wanted)
        why = f"the owner does not want it: {', '.join(sorted({one.code for one in wanted}))}"
        released = [] if approved else give_up_unasked(act, row, why)
        touch(row)
        numbers = sorted(one.pk for one in wanted)
        return {"approval": approval.pk, "approved": approved, "findings": numbers, "released": released}

    request = {
        "job": job, "findings": sorted(findings), "approved": approved, "given_by": given_by, "how": how,
        "limit_coins": limit_coins, "limit_hours": limit_hours,
    }  # fmt: skip
    return run("record approval", work, actor=actor, stamp=stamp, request=request, subject=job)


def add_operations(*, actor: Person, stamp: Stamp, job: str, operations: Sequence[str]) -> Done:
    """Add procedures to a job. Outcome: {"operations": [{"procedure", "revision"}]}."""

    def work(act: Act) -> Body:
        if not operations:
            raise DomainError("nothing-given", "No procedure was given.")
        row = open_job(job)
        added = freeze_operations(act, row, family_of(row.family_revision), operations)
        touch(row)
        return {"operations": added}

    return run(
        "add operations",
        work,
        actor=actor,
        stamp=stamp,
        request={"job": job, "operations": list(operations)},
        subject=job,
    )


def record_choice(
    *, actor: Person, stamp: Stamp, job: str, choice: str, place: str, alternative: str, reason: str
) -> Done:
    """Record an either/or or measured choice, or settle a conflict of parts at one position.

    choice       code of a choice of the family; empty where parts are in conflict at the use position `place`
    place        over what it is made: ENGINE, a bank, or a use position, as the choice's scope has it
    alternative  one of the choice's own, "none", or "part:NUMBER" for a part that comes in by a replacement; for a conflict
                 "part:NUMBER" or "buy-in"; where something is to be bought in, "part:NUMBER" names what it is; "fill:9 L" confirms that so much goes in at a position whose book says less

    The open holds of candidates that were not chosen are released in the same act; what was picked of them is to be returned.
    Outcome: {"choice", "place", "alternative", "released": [hold ids]}.
    Raises "choice-unknown", "alternative-unknown", "choice-place-wrong", "choice-not-candidate", "reason-missing".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "A choice needs its reason: the measurement or who decided.")
        row = open_job(job)
        family = family_of(row.family_revision)
        _check_choice(family, choice, place, alternative)
        lock_candidates(row)
        if alternative.startswith(PART):
            check_part(act, row, choice, place, alternative.removeprefix(PART))
        released = choose(act, row, [Word(choice, place, alternative)], reason)
        touch(row)
        return {"choice": choice, "place": place, "alternative": alternative, "released": released}

    request = {"job": job, "choice": choice, "place": place, "alternative": alternative, "reason": reason}
    return run("record choice", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _check_choice(family: Family, choice: str, place: str, alternative: str) -> None:
    """The choice, the place it is made for and the alternative belong together."""
    if not choice and alternative.startswith(FILL):
        _check_fill(family, place, alternative)
        return
    known = family.choices.get(choice)
    if known is None and choice:
        raise DomainError("choice-unknown", f"{choice[:60]!r} is not a choice of {family.name}.", choice=choice[:60])
    if known is None:
        allowed, fits = (BUY_IN,), family.map.is_position(place)
    else:
        allowed = (*known.alternatives, *((NONE,) if known.rule == "at-most-one" else ()))
        scope = "position" if family.map.is_position(place) else family.map.scope_of(place)
        fits = scope == known.scope or (known.scope == "bank" and place == ENGINE)
    if alternative not in allowed and not alternative.startswith(PART):
        raise DomainError(
            "alternative-unknown",
            f"{alternative[:60]!r} is no alternative of {known.text if known else place[:80]}: {', '.join(allowed)}.",
            choice=choice,
            alternative=alternative[:60],
            allowed=list(allowed),
        )
    family.map.outward(place)
    if not fits:
        raise DomainError(
            "choice-place-wrong",
            f"{choice or 'A conflict of parts'} is made for each {known.scope if known else 'position'}, not for {place}.",
            choice=choice,
            place=place,
        )


def _check_fill(family: Family, place: str, alternative: str) -> None:
    """A fill is confirmed where the family states the book's, and says how much."""
    family.map.outward(place)
    if not any(place in fill.positions for fill in family.facts.fills):
        raise DomainError(
            "choice-place-wrong", f"{place[:80]}: {family.name} states no book fill there.", choice="", place=place
        )
    try:
        read_fill(alternative)
    except DomainError as error:
        raise DomainError(
            "alternative-unknown",
            f"{alternative[:60]!r}: {error.message}.",
            ways_out=('Write the whole fill, as in "fill:9 L".',),
            choice="",
            alternative=alternative[:60],
        ) from error
