"""A kit of as many lines as wanted: a part for each position, three lots of each, and twenty positions of matched sets."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from inventory.models import Part
from inventory.services.receive import ReceiveLine, SetLabel, receive
from kits.models import Job
from kits.queries.scope import job_by_number
from kits.services.families import enter_family, enter_procedure
from kits.services.jobs import book_job
from tests.factories.engines import family_document, line
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, shelf, site, stamp

SETS = 20


def documents(lines: int) -> tuple[dict[str, Any], dict[str, Any]]:
    """A family and a procedure of that many lines, counted parts and one line of sets; every line at five positions."""
    family = family_document() | {"code": "Long-4", "engine_numbers": {"prefix": "LL-", "first": 1, "width": 4}}
    names = [{"name": f"p{number}", "series": [1, 5]} for number in range(1, lines)]
    family["groups"] = [
        *family["groups"],
        {"group": "ROW", "scope": "engine", "names": names},
        {"group": "SETS", "scope": "engine", "names": [{"name": "set", "series": [1, SETS]}]},
    ]
    procedure = {
        "code": "L1",
        "family": "Long-4",
        "revision": 1,
        "name": "everything",
        "opens": [],
        "steps": [{"step": 10, "after": [], "name": "all"}],
        "lines": [
            *(line(f"L-{number}", 10, f"ROW-{number:03d}", f"ROW/p{number}-*") for number in range(1, lines)),
            line("L-set", 10, "LONG-SET", "SETS/set-*", **{"class": "measured"}),
        ],
    }
    return family, procedure


def stocked_job(lines: int) -> Job:
    """A booked job whose list has that many lines, with stock for all of it: three lots a part, twenty sets."""
    actor = PersonFactory()
    family, procedure = documents(lines)
    numbers = [f"ROW-{number:03d}" for number in range(1, lines)]
    Part.objects.bulk_create(PartFactory.build(number=number, compare_key=number) for number in numbers)
    PartFactory(number="LONG-SET", kind="matched set", tracked_by="set", unit="SET")
    enter_family(actor=actor, stamp=stamp(), document=family)
    enter_procedure(actor=actor, stamp=stamp(), document=procedure)
    rows = [ReceiveLine(number, 2, lot=f"{lot}") for number in numbers for lot in "ABC"]
    rows += [
        ReceiveLine("LONG-SET", 1, serial=f"S-{n}", set_label=SetLabel(weight_mg=400_000, weighed="with pin"))
        for n in range(SETS)
    ]
    receive(actor=actor, stamp=stamp(), supplier=SupplierFactory().code, place=shelf().code, lines=rows)
    book_job(
        actor=actor,
        stamp=stamp(),
        number="LONG",
        engine_number="LL-0001",
        site=site().code,
        operations=["L1"],
        strip_on=NOON.date(),
        fit_on=NOON.date() + timedelta(days=2),
        new_engine=True,
    )
    return job_by_number("LONG")
