"""Private to services: a job as it is booked, what that looks up, and the engine that it may enter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind
from inventory.models import Act, Site
from inventory.queries.catalogue import no_such_site
from inventory.services import things
from inventory.services.run import Body
from kits.domain.engine_numbers import near_engines, parse_engine_number
from kits.domain.families import Family
from kits.models import Engine, EngineFamily, FamilyRevision, Job, JobDate, JobOperation, ProcedureRevision
from kits.queries.catalogue import no_such_procedure
from kits.queries.documents import family_of, operation_of
from kits.services.meters import read_at_arrival
from kits.services.owning import owned_at_booking


@dataclass(frozen=True, slots=True)
class Booking:
    """A job to be booked. confirmed: why a meter's reading stands whatever is asked of it, None where nobody said."""

    number: str
    engine_number: str
    site: str
    operations: Sequence[str]
    strip_on: date
    fit_on: date
    new_engine: bool = False
    owner_id: int | None = None
    new_owner: bool = False
    complaint: str = ""
    hours: Decimal | None = None
    kilometres: int | None = None
    photo_ref: str = ""
    confirmed: str | None = None


def book(act: Act, asked: Booking, *, arrived_on: date | None = None) -> tuple[Job, list[Body]]:
    """Write a job with its cart and its bench, in an open transaction; its number was not known. Its operations as they are frozen.

    arrived_on  since when the engine is the owner's, and when its meters were read; the day of the act if left out
    Raises DomainError "nothing-given", "dates-turned", "not-found", "engine-number-unreadable", "engine-unknown", "owner-differs",
    "reading-asked", "operation-other-family".
    """
    if not asked.operations:
        raise DomainError("nothing-given", "A job needs at least one operation.")
    check_order(asked.strip_on, asked.fit_on)
    where, engine = site_of(asked.site), engine_of(asked.engine_number, asked.new_engine)
    owned_at_booking(act, engine, asked.owner_id, asked.new_owner, arrived_on)
    revision = newest_revision(engine.family)
    job = Job.objects.create(
        number=asked.number,
        engine=engine,
        site=where,
        family_revision=revision,
        cart=things.make_place(f"cart {asked.number}", PlaceKind.CART, site=where),
        bench=things.make_place(f"bench {asked.number}", PlaceKind.BENCH, site=where),
        strip_on=asked.strip_on,
        fit_on=asked.fit_on,
        complaint=asked.complaint,
        hours=asked.hours,
        kilometres=asked.kilometres,
        booked_by=act,
    )
    JobDate.objects.create(job=job, act=act, fit_on=asked.fit_on)
    read_at_arrival(act, job, asked.photo_ref, asked.confirmed, arrived_on)
    return job, freeze_operations(act, job, family_of(revision), asked.operations)


def freeze_operations(act: Act, job: Job, family: Family, codes: Sequence[str]) -> list[Body]:
    """Freeze the newest revisions of procedures on a job. DomainError "not-found", "operation-other-family", "operation-on-job"."""
    said = []
    for code in dict.fromkeys(codes):
        revision = (
            ProcedureRevision.objects.filter(procedure__code=code)
            .select_related("procedure__family")
            .order_by("-revision")
            .first()
        )
        if revision is None:
            raise no_such_procedure(code)
        if revision.procedure.family.code != family.code:
            raise DomainError(
                "operation-other-family",
                f"{code} is for {revision.procedure.family.code}, this engine is a {family.code}.",
                procedure=code,
            )
        operation_of(revision, family)
        if JobOperation.objects.filter(job=job, procedure_revision__procedure=revision.procedure_id).exists():
            raise DomainError("operation-on-job", f"{code} is on job {job.number} already.", procedure=code)
        JobOperation.objects.create(job=job, procedure_revision=revision, added_by=act)
        said.append({"procedure": code, "revision": revision.revision})
    return said


def check_order(strip_on: date, fit_on: date) -> None:
    """Raises "dates-turned": nothing is fitted before the strip."""
    if fit_on < strip_on:
        raise DomainError(
            "dates-turned",
            f"Fitting on {fit_on} lies before strip on {strip_on}.",
            strip_on=str(strip_on),
            fit_on=str(fit_on),
        )


def site_of(code: str) -> Site:
    """The site of this code, or "not-found"."""
    found = Site.objects.filter(code=code).first()
    if found is None:
        raise no_such_site(code)
    return found


def refuse_known(number: str, known_numbers: Iterable[str] | None = None) -> None:
    """DomainError "job-exists" names the job of that number, however it is written: j1 and J-1 are the same to a person.

    known_numbers  of all jobs on record, where they were read since the numbers were locked
    """
    try:
        key = compare_key(number)
    except DomainError:  # nothing in it to compare but itself
        key = number
    locks.name("job", key)
    for known in Job.objects.values_list("number", flat=True) if known_numbers is None else known_numbers:
        if known == number or _same(known, key):
            raise DomainError(
                "job-exists",
                f"Job {known} is booked already" + (f": {number} is the same number." if known != number else "."),
                job=known,
            )


def _same(known: str, key: str) -> bool:
    try:
        return compare_key(known) == key
    except DomainError:
        return False


def newest_revision(family: EngineFamily) -> FamilyRevision:
    """What a job booked today freezes, or "not-found"."""
    found = FamilyRevision.objects.filter(family=family).order_by("-revision").first()
    if found is None:
        raise DomainError("not-found", f"{family.code} has no revision yet.", family=family.code)
    return found


def near_a_new_one(text: str) -> list[str]:
    """Engines on record that a number which is on record for none may have been meant as; none where it is on record.

    A new engine is a person's word, so this asks nothing: it is said in the outcome of the booking. DomainError "engine-number-unreadable".
    """
    number = parse_engine_number(text, dict(EngineFamily.objects.values_list("prefix", "width"))).text
    return [] if Engine.objects.filter(number=number).exists() else _near(text, number)


def _near(text: str, number: str) -> list[str]:
    """Near what was typed, and near what it was read as: a digit too many makes another number, with other zeros before it."""
    known = list(Engine.objects.values_list("number", flat=True))
    return list(dict.fromkeys([*near_engines(text, known), *near_engines(number, known)]))


def engine_of(text: str, new_engine: bool) -> Engine:
    """The engine of this number, entered if it is new and said to be: "engine-number-unreadable", "engine-unknown",
    "engine-number-too-low" (below the first that was made)."""
    families = {family.prefix: family for family in EngineFamily.objects.all()}
    number = parse_engine_number(text, {prefix: family.width for prefix, family in families.items()})
    engine = Engine.objects.select_related("family", "place").filter(number=number.text).first()
    if engine is None and new_engine:
        locks.name("engine", number.text)
        engine = Engine.objects.select_related("family", "place").filter(number=number.text).first()
    if engine is not None:
        return engine
    if not new_engine:
        near = _near(text, number.text)
        raise DomainError(
            "engine-unknown",
            f"Engine {number.text} is not on record." + (f" Near: {', '.join(near)}." if near else ""),
            ways_out=("Check the number on the engine.", "If it was never here, book it as a new engine (new_engine)."),
            engine=number.text,
            near=near,
        )
    family = families[number.prefix]
    first = family_of(newest_revision(family)).numbering.first
    if number.digits < first:
        raise DomainError(
            "engine-number-too-low",
            f"{number.text} lies below {number.prefix}{first:0{family.width}}, the first engine of {family.code}.",
            ways_out=("Check the number on the engine.",),
            engine=number.text,
            first=first,
        )
    place = things.make_place(number.text, PlaceKind.ENGINE, site=None, name=f"engine {number.text}")
    return Engine.objects.create(number=number.text, family=family, digits=number.digits, place=place)
