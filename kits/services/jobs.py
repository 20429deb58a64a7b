"""Booking a job and what changes its scope: operations, findings, the owner's word, choices, dates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import PlaceKind
from inventory.models import Act, Person, Site
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.engine_numbers import near_engines, parse_engine_number
from kits.domain.families import Family
from kits.domain.findings import Finding, check_finding
from kits.models import (
    Approval,
    Engine,
    EngineFamily,
    FamilyRevision,
    FindingWithdrawal,
    Job,
    JobChoice,
    JobDate,
    JobFinding,
    JobOperation,
    Owner,
    ProcedureRevision,
)
from kits.queries.documents import family_of, operation_of
from kits.queries.scope import scope_of
from kits.services.shared import open_job, touch


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
    complaint: str = "",
    hours: Decimal | None = None,
    kilometres: int | None = None,
) -> Done:
    """Book a rebuild job. Makes its cart and bench places.

    operations  procedure codes; their newest revisions are frozen on the job, as is the family's
    findings    what is booked from the start (cylinders chosen, …): within the booked scope, no approval needed
    new_engine  the engine is not on record yet and shall be

    Raises DomainError "engine-number-unreadable", "engine-unknown" (near misses in `near`), "not-found", "job-exists",
    "nothing-given", findings' errors as ManyErrors. Outcome: {"job", "engine", "family", "cart", "bench", "operations"}.
    """
    request = {
        "number": number, "engine_number": engine_number, "site": site, "operations": list(operations),
        "strip_on": strip_on, "fit_on": fit_on, "findings": [asdict(one) for one in findings], "new_engine": new_engine,
        "owner": owner_id, "complaint": complaint, "hours": hours, "kilometres": kilometres,
    }  # fmt: skip
    if not operations:
        raise DomainError("nothing-given", "A job needs at least one operation.")
    if fit_on < strip_on:
        raise DomainError(
            "dates-turned",
            f"Fitting on {fit_on} lies before strip on {strip_on}.",
            strip_on=str(strip_on),
            fit_on=str(fit_on),
        )

    def work(act: Act) -> Body:
        locks.name("job", number)
        if Job.objects.filter(number=number).exists():
            raise DomainError("job-exists", f"Job {number} is booked already.", job=number)
        where = Site.objects.filter(code=site).first()
        if where is None:
            raise DomainError("not-found", f"There is no site {site}.", site=site)
        engine = _engine(engine_number, new_engine, owner_id)
        revision = FamilyRevision.objects.filter(family=engine.family).order_by("-revision").first()
        if revision is None:
            raise DomainError("not-found", f"{engine.family.code} has no revision yet.", family=engine.family.code)
        job = Job.objects.create(
            number=number,
            engine=engine,
            site=where,
            family_revision=revision,
            cart=things.make_place(f"cart {number}", PlaceKind.CART, site=where),
            bench=things.make_place(f"bench {number}", PlaceKind.BENCH, site=where),
            strip_on=strip_on,
            fit_on=fit_on,
            complaint=complaint,
            hours=hours,
            kilometres=kilometres,
            booked_by=act,
        )
        JobDate.objects.create(job=job, act=act, fit_on=fit_on)
        added = _add_operations(act, job, family_of(revision), operations)
        _add_findings(act, job, family_of(revision), findings, extra_work=False)
        return {
            "job": number,
            "engine": engine.number,
            "family": engine.family.code,
            "cart": job.cart.code,
            "bench": job.bench.code,
            "operations": added,
        }

    return run("book job", work, actor=actor, stamp=stamp, request=request, subject=number)


def _engine(text: str, new_engine: bool, owner_id: int | None) -> Engine:
    families = {family.prefix: family for family in EngineFamily.objects.all()}
    number = parse_engine_number(text, {prefix: family.width for prefix, family in families.items()})
    engine = Engine.objects.select_related("family", "place").filter(number=number.text).first()
    owner = None
    if owner_id is not None:
        owner = Owner.objects.filter(pk=owner_id).first()
        if owner is None:
            raise DomainError("not-found", f"There is no owner {owner_id}.", owner=owner_id)
    if engine is not None:
        return engine
    if not new_engine:
        near = near_engines(number.text, Engine.objects.values_list("number", flat=True))
        raise DomainError(
            "engine-unknown",
            f"Engine {number.text} is not on record." + (f" Near: {', '.join(near)}." if near else ""),
            ways_out=("Check the number on the engine.", "Book it as a new engine."),
            engine=number.text,
            near=list(near),
        )
    locks.name("engine", number.text)
    place = things.make_place(number.text, PlaceKind.ENGINE, site=None, name=f"engine {number.text}")
    return Engine.objects.create(
        number=number.text, family=families[number.prefix], digits=number.digits, place=place, owner=owner
    )


def _add_operations(act: Act, job: Job, family: Family, codes: Sequence[str]) -> list[Body]:
    said = []
    for code in dict.fromkeys(codes):
        revision = (
            ProcedureRevision.objects.filter(procedure__code=code)
            .select_related("procedure")
            .order_by("-revision")
            .first()
        )
        if revision is None:
            raise DomainError("not-found", f"There is no procedure {code}.", procedure=code)
        operation = operation_of(revision, family)
        if operation.family != family.code:
            raise DomainError(
                "operation-other-family",
                f"{code} is for {operation.family}, this engine is a {family.code}.",
                procedure=code,
            )
        if JobOperation.objects.filter(job=job, procedure_revision__procedure=revision.procedure_id).exists():
            raise DomainError("operation-on-job", f"{code} is on job {job.number} already.", procedure=code)
        JobOperation.objects.create(job=job, procedure_revision=revision, added_by=act)
        said.append({"procedure": code, "revision": revision.revision})
    return said


def _add_findings(
    act: Act, job: Job, family: Family, findings: Sequence[FindingIn], *, extra_work: bool
) -> list[JobFinding]:
    errors: list[tuple[int, DomainError]] = []
    for number, one in enumerate(findings, 1):
        try:
            check_finding(Finding(one.code, one.place), family.findings, family.map)
        except DomainError as error:
            errors.append((number, error))
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
    Outcome: {"findings": [{"id", "code", "place"}], "waiting": bool}.
    """
    if not findings:
        raise DomainError("nothing-given", "No finding was given.")
    request = {"job": job, "findings": [asdict(one) for one in findings], "extra_work": extra_work}

    def work(act: Act) -> Body:
        row = open_job(job)
        made = _add_findings(act, row, family_of(row.family_revision), findings, extra_work=extra_work)
        touch(row)
        return {
            "findings": [{"id": one.pk, "code": one.code, "place": one.place} for one in made],
            "waiting": extra_work,
        }

    return run("record findings", work, actor=actor, stamp=stamp, request=request, subject=job)


def withdraw_finding(*, actor: Person, stamp: Stamp, job: str, finding_id: int, reason: str) -> Done:
    """A finding turned out wrong: the list shrinks, what was issued for it is to be returned. Nothing is deleted."""
    if not reason.strip():
        raise DomainError("reason-missing", "Withdrawing a finding needs a reason.")

    def work(act: Act) -> Body:
        row = open_job(job)
        finding = JobFinding.objects.filter(job=row, pk=finding_id).first()
        if finding is None:
            raise DomainError("not-found", f"Job {job} has no finding {finding_id}.", finding=finding_id)
        if FindingWithdrawal.objects.filter(finding=finding).exists():
            raise DomainError("withdrawn-already", f"Finding {finding_id} was withdrawn already.", finding=finding_id)
        FindingWithdrawal.objects.create(finding=finding, act=act, reason=reason)
        touch(row)
        return {"withdrawn": finding_id, "code": finding.code, "place": finding.place}

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
) -> Done:
    """The owner's word on extra work: who gave it (their role), how, and up to what sum."""
    if not given_by.strip() or not how.strip():
        raise DomainError("reason-missing", "Say who gave the word, and how.")

    def work(act: Act) -> Body:
        row = open_job(job)
        wanted = list(JobFinding.objects.filter(job=row, pk__in=findings))
        missing = sorted(set(findings) - {one.pk for one in wanted})
        if missing or not wanted:
            raise DomainError("not-found", f"Job {job} has no finding {missing}.", findings=missing)
        approval = Approval.objects.create(
            job=row, act=act, approved=approved, given_by=given_by, how=how, limit_coins=limit_coins
        )
        approval.findings.add(*wanted)
        touch(row)
        return {"approval": approval.pk, "approved": approved, "findings": sorted(one.pk for one in wanted)}

    request = {
        "job": job, "findings": sorted(findings), "approved": approved, "given_by": given_by, "how": how,
        "limit_coins": limit_coins,
    }  # fmt: skip
    return run("record approval", work, actor=actor, stamp=stamp, request=request, subject=job)


def add_operations(*, actor: Person, stamp: Stamp, job: str, operations: Sequence[str]) -> Done:
    """Add procedures to a job. Outcome: {"operations": [{"procedure", "revision"}]}."""
    if not operations:
        raise DomainError("nothing-given", "No procedure was given.")

    def work(act: Act) -> Body:
        row = open_job(job)
        added = _add_operations(act, row, family_of(row.family_revision), operations)
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
    """Record an either/or or measured choice. `alternative`: one of the choice's own, "none", or "part:NUMBER" for a part that
    comes in by a replacement. Raises "choice-unknown", "alternative-unknown", "reason-missing"."""
    if not reason.strip():
        raise DomainError("reason-missing", "A choice needs its reason: the measurement or who decided.")

    def work(act: Act) -> Body:
        row = open_job(job)
        family = family_of(row.family_revision)
        known = family.choices.get(choice)
        if known is None:
            raise DomainError("choice-unknown", f"{choice!r} is not a choice of {family.name}.", choice=choice[:60])
        allowed = (*known.alternatives, *(("none",) if known.rule == "at-most-one" else ()))
        if alternative not in allowed and not alternative.startswith("part:"):
            raise DomainError(
                "alternative-unknown",
                f"{alternative!r} is no alternative of {known.text}: {', '.join(allowed)}.",
                choice=choice,
                alternative=alternative[:60],
                allowed=list(allowed),
            )
        family.map.outward(place)
        JobChoice.objects.create(job=row, act=act, choice=choice, place=place, alternative=alternative, reason=reason)
        scope_of(row).explosion()
        touch(row)
        return {"choice": choice, "place": place, "alternative": alternative}

    request = {"job": job, "choice": choice, "place": place, "alternative": alternative, "reason": reason}
    return run("record choice", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)
