"""Jobs on the small test engine: booked, stripped, picked and fitted through the real services."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from django.contrib.auth.models import Permission

from inventory.models import Act, Item, Person, Spot
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, run
from kits.models import Engine, Fitting, Job
from kits.services.families import enter_family, enter_procedure
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, book_job
from kits.services.pick_kit import Scan, hand_over, pick
from tests.factories.engines import family_document, found, line
from tests.factories.stores import NOON, PartFactory, PersonFactory, site, stamp, technician

HOUR = timedelta(hours=1)


def checker(name: str = "edda") -> Person:
    """A second person who may check; made once."""
    person = Person.objects.filter(username=name).first() or PersonFactory(username=name)
    person.user_permissions.add(Permission.objects.get(codename="act_check"))
    return Person.objects.get(pk=person.pk)


def ring_job_catalogue() -> None:
    """The small family, a ring traced by lot, and one operation R1: a ring at every cylinder whose liner is lifted."""
    PartFactory(number="RING", name="liner ring", tracked_by="lot")
    enter_family(actor=PersonFactory(), stamp=stamp(), document=family_document())
    document = {
        "code": "R1",
        "family": "Testbed-4",
        "revision": 1,
        "name": "rings",
        "opens": [],
        "steps": [{"step": 10, "after": [], "name": "rings"}],
        "lines": [{**line("ring", 10, "RING", "CYL-*/ring", found("lifted")), "id": "R1-ring"}],
    }
    enter_procedure(actor=PersonFactory(), stamp=stamp(), document=document)


def book(number: str, engine: str = "T4-00211", at: datetime = NOON, cylinders: int = 4) -> Job:
    """Book R1 with these many liners lifted; the engine is made where it is new."""
    book_job(
        actor=PersonFactory(username=f"clerk of {number}"),
        stamp=stamp(at),
        number=number,
        engine_number=engine,
        site=site().code,
        operations=["R1"],
        strip_on=at.date(),
        fit_on=at.date() + timedelta(days=1),
        findings=[FindingIn("lifted", f"CYL-{n}") for n in range(1, cylinders + 1)],
        new_engine=not Engine.objects.filter(number=engine).exists(),
        complaint="coolant in oil",
    )
    return Job.objects.select_related("engine__place", "engine__family", "bench").get(number=number)


def to_bench(job: Job, at: datetime, lots: Mapping[str, list[str]] | None = None) -> None:
    """Hold the job's list, pick it and hand it over, an hour apart; `lots` are lots named by a person."""
    held = hold_kit(
        actor=PersonFactory(),
        stamp=stamp(at),
        job=job.number,
        lots=lots,
        lots_reason="named by a person" if lots else "",
    )
    keeper, fitter = PersonFactory(), technician()
    listed = held.body["pick_list"]
    scans = [Scan(one["hold"], one["lot"]) for one in held.body["held"]]
    pick(actor=keeper, stamp=stamp(at + HOUR), pick_list=listed, scans=scans)
    hand_over(actor=keeper, stamp=stamp(at + 2 * HOUR), pick_list=listed, received_by=fitter)


def fit_rows(
    job: Job,
    *rows: tuple[Item, Spot, str],
    at: datetime,
    recorded_at: datetime | None = None,
    fitter: Person | None = None,
    second: Person | None = None,
    reused: bool = False,
) -> Done:
    """Fit (item, from this spot, into this use position) without the job's list: for what the list is not about."""
    fitter = fitter or PersonFactory()

    def work(act: Act) -> Body:
        places = things.spots(job.engine.place, [position for _, _, position in rows])
        post(act, [Move(item, 1, origin, places[position]) for item, origin, position in rows])
        Fitting.objects.bulk_create(
            Fitting(
                job=job,
                act=act,
                item=item,
                spot=places[position],
                amount=1,
                reused=reused,
                fitter=fitter,
                checker=second,
            )
            for item, _, position in rows
        )
        return {}

    request = {"rows": [[item.pk, position] for item, _, position in rows]}
    return run("fit", work, actor=fitter, stamp=stamp(at, recorded_at), request=request, subject=job.number)
