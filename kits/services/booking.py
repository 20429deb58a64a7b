"""Private to services: what a booking looks up, and the engine that it may enter."""

from __future__ import annotations

from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind
from inventory.models import Site
from inventory.queries.catalogue import no_such_site
from inventory.services import things
from kits.domain.engine_numbers import near_engines, parse_engine_number
from kits.models import Engine, EngineFamily, FamilyRevision, Job
from kits.queries.documents import family_of


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


def refuse_known(number: str) -> None:
    """DomainError "job-exists" names the job of that number, however it is written: j1 and J-1 are the same to a person."""
    try:
        key = compare_key(number)
    except DomainError:  # nothing in it to compare but itself
        key = number
    locks.name("job", key)
    for known in Job.objects.values_list("number", flat=True):
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
        near = near_engines(number.text, Engine.objects.values_list("number", flat=True))
        raise DomainError(
            "engine-unknown",
            f"Engine {number.text} is not on record." + (f" Near: {', '.join(near)}." if near else ""),
            ways_out=("Check the number on the engine.", "Book it as a new engine."),
            engine=number.text,
            near=list(near),
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
