"""Pieces of the demo shop's engines that go to an outside machinist."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.domain.places import PlaceKind
from inventory.models import Place
from inventory.services.things import make_place
from kits.models import Job
from kits.services.outside import send_outside
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.factories.acts import done
from tests.factories.rebuilds import book

#: A camshaft of the Rowan-6 and where it sits; of its steps P4/18 names that group.
CAMSHAFT, AT = "R-602", "CAMSHAFT/camshaft"


def machinist(code: str = "GRINDER") -> Place:
    """The place of an outside machinist."""
    return make_place(code, PlaceKind.OUTSIDE, site=None, name="grinder across town")


def rowan(number: str = "J1", engine: str = "R6-7309", **more: Any) -> Job:
    """A job on a Rowan-6."""
    return book(number, engine=engine, operations=["P4"], **more)


def out_to_bench(job: Job, position: str = AT, part: str = CAMSHAFT, **more: Any) -> int:
    """A part that was found in the engine and came out to the bench; its item."""
    item = done(find_in_engine, job=job.number, finds=[FindIn(position, part, **more)])["found"][0]["item"]
    done(remove, job=job.number, removals=[RemoveIn(position)])
    return int(item)


def sent(job: Job, due_on: date, item: int | None = None, **more: Any) -> dict[str, Any]:
    """The camshaft of the job (or an item at its bench) is out; the outcome."""
    where = machinist().code
    thing = out_to_bench(job) if item is None else item
    return done(send_outside, job=job.number, machinist=where, item=thing, due_on=due_on, **more)
