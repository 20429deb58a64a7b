"""A small invented two-bore engine and its shelves, for tests in which several people, or none who survives, work on it.

Everything goes through the real services. Nothing of the demo shop is in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.contrib.auth.models import Permission

from inventory.domain.places import BOOKS_ONLY
from inventory.models import Item, Part, Person, Place
from inventory.services import things
from inventory.services.run import Done
from kits.models import Engine, Job
from kits.services.crib import stock_crib
from kits.services.families import enter_family, enter_procedure
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, book_job
from kits.services.pick_kit import Scan, hand_over, pick
from tests.factories.engines import LINERS, PISTONS, found, line
from tests.factories.looks import looked_at
from tests.factories.stores import (
    NOON,
    PartFactory,
    PersonFactory,
    quarantine,
    sheets_read,
    shelf,
    site,
    stamp,
    stock,
    technician,
)

FIT_ON = date(2025, 2, 1)
TOOL = "bore gauge"
#: Parts of the operation "many": they are looked up, listed and locked in one order, or in the other.
MANY = tuple(f"N-{number}" for number in range(1, 7))
FAMILY = "Pair-2"


def family_document() -> dict[str, Any]:
    """Two bores with a set and a ring each, a cover of six parts."""
    return {
        "code": FAMILY,
        "name": "Two-bore test engine",
        "revision": 1,
        "engine_numbers": {"prefix": "P2-", "first": 1, "width": 4},
        "numbering_end": "timing end",
        "front": "timing end",
        "banks": [{"name": "-", "cylinders": [1, 2]}],
        "valves_per_cylinder": 0,
        "mains": 0,
        "facts": {
            **LINERS,
            **PISTONS,
            "head_gasket_grades": [{"grade": "1", "projection_most": "0.5 mm", "part": MANY[0]}],
            "joints": [{"name": "lid", "at": ["LID/bead"], "product": "SEALER", "bolts": 2, "faces": "pressed steel"}],
            "piston_checks": ["crown"],
            "photo_checks": [{"what": "groove up", "at": "COVER/part-1", "before": "COVER/part-2", "from": "page 4"}],
            "sizes": [{"name": "seat", "kind": "cut", "text": "recut, in all", "at": "CYL-*/set", "most": "0.25 mm"}],
            "leak_test": {
                "pressure_least": "0.5 bar",
                "pressure_most": "1 bar",
                "hold_least": "10 min",
                "drop_most": "5 kPa",
                "from": "page 1",
            },
            "first_run": {"values": [{"name": "oil pressure", "low": "1 bar"}], "from": "page 2"},
            "after_first_run": [{"what": "oil change", "days": 30, "from": "page 3"}],
        },
        "groups": [
            {"group": "CYL", "scope": "cylinder", "first": 1, "last": 2, "names": [{"name": "set"}, {"name": "ring"}]},
            {"group": "COVER", "scope": "engine", "names": [{"name": "part", "series": [1, 6]}]},
            {"group": "LID", "scope": "engine", "names": [{"name": "bead"}]},
        ],
        "findings": [{"code": "chosen", "scope": "cylinder", "text": "cylinder chosen"}],
        "rules": [],
        "choices": [
            {
                "code": "cover",
                "scope": "engine",
                "rule": "exactly-one",
                "by": "person",
                "alternatives": ["plain", "ribbed"],
                "text": "one kind of cover",
            }
        ],
        "buy_in": [],
        "washed_out": [{"name": "core plug", "count": 4}],
    }


def _operation(code: str, steps: Sequence[int], lines: Sequence[dict[str, Any]]) -> dict[str, Any]:
    return {
        "code": code,
        "family": FAMILY,
        "revision": 1,
        "name": code.lower(),
        "opens": [],
        "steps": [
            {"step": number, "after": list(steps[:at][-1:]), "name": f"step {number}"}
            for at, number in enumerate(steps)
        ],
        "lines": list(lines),
    }


def operations() -> list[dict[str, Any]]:
    """SETS: a matched set in each chosen bore, with a tool. RINGS: a ring there. RISING, FALLING: the same six parts on the
    cover, in one order of work and in the other. KINDS: one of two covers, as a person decides. LID: a bead."""
    chosen = found("chosen")
    rising = [line(f"up-{n}", 10 * n, part, f"COVER/part-{n}") for n, part in enumerate(MANY, 1)]
    falling = [line(f"down-{n}", 10 * (7 - n), part, f"COVER/part-{n}") for n, part in enumerate(MANY, 1)]
    kinds = [
        line(kind, 10, part, "COVER/part-1", choice="cover", alternative=kind)
        for kind, part in (("plain", MANY[0]), ("ribbed", MANY[1]))
    ]
    lid = line("bead", 10, "SEALER", "LID/bead", amount=None, how="bead", bead={"length": "200 mm", "diameter": "2 mm"})
    tens = range(10, 70, 10)
    return [
        _operation("SETS", [10], [line("set", 10, "SET", "CYL-*/set", chosen, tools=[TOOL])]),
        _operation("RINGS", [10], [line("ring", 10, "RING", "CYL-*/ring", chosen)]),
        _operation("RISING", tens, rising),
        _operation("FALLING", tens, falling),
        _operation("KINDS", [10], kinds),
        _operation("LID", [10], [lid]),
    ]


def workshop() -> Place:
    """Site, shelf R1 (returned), shelf R2, quarantine Q1, parts, family, operations, and one special tool."""
    for kind in sorted(BOOKS_ONLY):
        things.books_only(kind)
    first = shelf("R1")
    shelf("R2")
    quarantine("Q1")
    PartFactory(number="SET", name="piston and liner set", kind="matched set", tracked_by="set")
    PartFactory(number="RING", name="liner ring")
    PartFactory(number="SEALER", kind="sealant", net_ul=80_000, empty_mg=12_000, density_mg_per_ml=1_400)
    for number in MANY:
        PartFactory(number=number)
    sheets_read()
    clerk = PersonFactory()
    enter_family(actor=clerk, stamp=stamp(), document=family_document())
    for document in operations():
        enter_procedure(actor=clerk, stamp=stamp(), document=document)
    stock_crib(actor=clerk, stamp=stamp(), site=site().code, tools={TOOL: 1})
    return first


def sets(*serials: str) -> None:
    """Matched sets on shelf R1, by their serials."""
    part = Part.objects.get(number="SET")
    for serial in serials:
        stock(part, serial=serial, place=shelf("R1"))


def rings(amount: int, lot: str = "B1") -> Item:
    """Rings of one lot on shelf R1; their item."""
    stock(Part.objects.get(number="RING"), amount, lot=lot, place=shelf("R1"))
    return Item.objects.get(part__number="RING", lot__code=lot)


def many(pieces: int) -> None:
    """So many of each of the six cover parts."""
    for number in MANY:
        stock(Part.objects.get(number=number), pieces, lot=f"{number}/1", place=shelf("R1"))


def job(
    number: str, *codes: str, cylinders: int = 1, engine: str = "", at: datetime = NOON, fit_on: date = FIT_ON
) -> Job:
    """A booked job with these operations on an engine of its own (or on a named one), so many bores chosen."""
    engine = engine or f"P2-{Engine.objects.count() + 1:04d}"
    book_job(
        actor=PersonFactory(),
        stamp=stamp(at),
        number=number,
        engine_number=engine,
        site=site().code,
        operations=codes,
        strip_on=NOON.date(),
        fit_on=fit_on,
        findings=[FindingIn("chosen", f"CYL-{n}") for n in range(1, cylinders + 1)],
        new_engine=not Engine.objects.filter(number=engine).exists(),
    )
    return Job.objects.get(number=number)


def held_for(number: str) -> Done:
    """The job's kit, held."""
    return hold_kit(actor=PersonFactory(), stamp=stamp(), job=number)


def scans_of(held: Done) -> list[Scan]:
    """What a person scans who picks everything that was held."""
    return [Scan(one["hold"], one["serial"] or one["lot"]) for one in held.body["held"]]


def picked_for(number: str) -> int:
    """The job's kit, held, picked and looked at by a second person; the number of its pick list."""
    held = held_for(number)
    pick(actor=PersonFactory(), stamp=stamp(), pick_list=held.body["pick_list"], scans=scans_of(held))
    looked_at(held.body["pick_list"])
    return int(held.body["pick_list"])


def handed_over_for(number: str) -> int:
    """The job's kit at its bench; the number of its pick list."""
    listed = picked_for(number)
    fitter = technician()
    sheets_read(fitter)
    hand_over(actor=PersonFactory(), stamp=stamp(), pick_list=listed, received_by=fitter)
    return listed


def checker(name: str) -> Person:
    """Somebody who may check what another fitted."""
    person = PersonFactory(username=name)
    person.user_permissions.add(Permission.objects.get(codename="act_check"))
    return Person.objects.get(pk=person.pk)


def item(part: str, identity: str) -> Item:
    """An item by part number and identity text."""
    return Item.objects.get(part__number=part, identity=identity)


def place(code: str) -> Place:
    """A place by its code."""
    return things.place(code)
