"""The synthetic shop's catalogue, made in code: three invented engine families with a kit of 120 lines each, 400 parts.

Two sites hold the same goods under names that differ in their first letter only ("A/…", "B/…"), so that an act at one site
and its twin at the other must give the same answer once that letter is taken away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from django.contrib.auth.models import Permission

from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind
from inventory.models import Part, Person, Place, Site, Spot, Supplier
from inventory.services.run import Stamp
from inventory.services.set_up import PlaceIn, set_up_shop
from kits.models import EngineFamily, FamilyRevision, ProcedureRevision
from kits.services.crib import stock_crib
from kits.services.families import enter_family, enter_procedure

#: Noon of the day on which the synthetic shop is measured: nothing here reads the clock.
NOW = datetime(2026, 1, 5, 12, 0, tzinfo=UTC)
FIT_ON = date(2026, 1, 12)
SITES = ("A", "B")
FAMILIES = 3
BORES, SEALS, BOLTS = 4, 19, 100
#: Lines of a kit: the sets, a seal line over all bores, bolts one position each.
LINES = 1 + SEALS + BOLTS
#: Holds of a kit: every set is one by itself.
HOLDS = BORES + SEALS + BOLTS
OTHER_PARTS = 40
SHELVES = 20
TOOLS = ("bore gauge", "ring press")
PIECE_MG = 150_000


@dataclass(frozen=True, slots=True)
class HoldLine:
    """One hold of a kit. `bore` is 0 for what is traced by lot; `uses` are (position, amount)."""

    number: int
    part: str
    bore: int
    uses: tuple[tuple[str, int], ...]
    tray: int
    line: int

    @property
    def amount(self) -> int:
        """Pieces of the whole hold."""
        return sum(amount for _, amount in self.uses)


@dataclass(frozen=True, slots=True)
class Catalogue:
    """What the history is built on: people, sites, rows by name."""

    clerk: Person
    technician: Person
    storekeeper: Person
    sites: dict[str, Site]
    parts: dict[str, Part]
    shelf_spots: dict[str, list[Spot]]
    supplier: Supplier
    supplier_spot: Spot
    families: list[EngineFamily]
    family_revisions: list[FamilyRevision]
    procedure_revisions: list[ProcedureRevision]


def family_code(family: int) -> str:
    """Code of a synthetic family, counted from 0."""
    return f"Synthetic-{family + 1}"


def procedure_code(family: int) -> str:
    """Code of its one procedure."""
    return f"SYN-{family + 1}"


def engine_prefix(family: int) -> str:
    """What its engine numbers begin with."""
    return f"SY{family + 1}-"


def part_number(family: int, line: int) -> str:
    """Number of the part of a line (1 the sets, then seals, then bolts)."""
    return f"Y{family + 1}-{line:03d}"


def family_document(family: int) -> dict[str, Any]:
    """Four bores with a set and 19 seals each, a block with 100 bolts: 180 use positions."""
    return {
        "code": family_code(family),
        "name": f"Synthetic engine {family + 1}",
        "revision": 1,
        "engine_numbers": {"prefix": engine_prefix(family), "first": 1, "width": 7},
        "numbering_end": "timing end",
        "front": "timing end",
        "banks": [{"name": "-", "cylinders": list(range(1, BORES + 1))}],
        "valves_per_cylinder": 0,
        "mains": 0,
        "groups": [
            {
                "group": "CYL",
                "scope": "cylinder",
                "first": 1,
                "last": BORES,
                "names": [{"name": "set"}, {"name": "seal", "series": [1, SEALS]}],
            },
            {"group": "BLOCK", "scope": "engine", "names": [{"name": "bolt", "series": [1, BOLTS]}]},
        ],
        "findings": [{"code": "chosen", "scope": "cylinder", "text": "cylinder chosen"}],
        "rules": [],
        "choices": [],
        "buy_in": [],
    }


def bolt_amount(bolt: int) -> int:
    """Pieces at a bolt position: one to three."""
    return bolt % 3 + 1


def procedure_document(family: int) -> dict[str, Any]:
    """120 lines in twelve steps of ten, a tray a step; two steps need a special tool."""
    places = [("CYL-*/set", 1)]
    places += [(f"CYL-*/seal-{seal:02d}", 1) for seal in range(1, SEALS + 1)]
    places += [(f"BLOCK/bolt-{bolt:03d}", bolt_amount(bolt)) for bolt in range(1, BOLTS + 1)]
    lines = []
    for index, (at, amount) in enumerate(places):
        step = 10 * (index // 10 + 1)
        entry: dict[str, Any] = {
            "id": f"line-{index + 1:03d}", "step": step, "tray": index // 10 + 1, "part": part_number(family, index + 1),
            "at": at, "amount": f"{amount} EA", "how": "count", "class": "always-new",
            "because": "renewed whenever the engine is open",
        }  # fmt: skip
        if index % 10 == 0:
            entry["note"] = "oil the threads, wipe the face"
        if step in (30, 90):
            entry["tools"] = [TOOLS[step // 60]]
        lines.append(entry)
    steps = [
        {"step": 10 * n, "after": [10 * (n - 1)] if n > 1 else [], "name": f"step {n}",
         **({"caution": "heavy: use lifting gear"} if n == 1 else {})}
        for n in range(1, LINES // 10 + 1)
    ]  # fmt: skip
    return {
        "code": procedure_code(family), "family": family_code(family), "revision": 1, "name": f"rebuild {family + 1}",
        "opens": [], "steps": steps, "lines": lines,
    }  # fmt: skip


def hold_lines(family: int) -> list[HoldLine]:
    """The holds of a kit of the family, numbered from 1: a set for each bore, then one for each line traced by lot."""
    found = [
        HoldLine(bore, part_number(family, 1), bore, ((f"CYL-{bore}/set", 1),), 1, 1) for bore in range(1, BORES + 1)
    ]
    for seal in range(1, SEALS + 1):
        uses = tuple((f"CYL-{bore}/seal-{seal:02d}", 1) for bore in range(1, BORES + 1))
        line = 1 + seal
        found.append(HoldLine(len(found) + 1, part_number(family, line), 0, uses, (line - 1) // 10 + 1, line))
    for bolt in range(1, BOLTS + 1):
        line = 1 + SEALS + bolt
        uses = ((f"BLOCK/bolt-{bolt:03d}", bolt_amount(bolt)),)
        found.append(HoldLine(len(found) + 1, part_number(family, line), 0, uses, (line - 1) // 10 + 1, line))
    return found


def shelf_code(site: str, shelf: int) -> str:
    """Code of a shelf of a site, counted from 0."""
    return f"{site}/shelf {shelf + 1:02d}"


def load_catalogue(stamps: Sequence[Stamp]) -> Catalogue:
    """Enter people, places, parts, families and procedures; documents and places by the real services."""
    keys = iter(stamps)
    clerk, technician, storekeeper = (
        Person.objects.create(username=name) for name in ("measuring clerk", "measuring technician", "storekeeper")
    )
    technician.user_permissions.add(*Permission.objects.filter(codename__in=("act_check", "act_fit")))
    shelves = [
        PlaceIn(shelf_code(site, shelf), PlaceKind.SHELF, site, walk_order=shelf + 1)
        for site in SITES
        for shelf in range(SHELVES)
    ]
    set_up_shop(actor=clerk, stamp=next(keys), sites={site: f"site {site}" for site in SITES}, places=shelves)
    parts = Part.objects.bulk_create(_parts())
    for family in range(FAMILIES):
        enter_family(actor=clerk, stamp=next(keys), document=family_document(family))
        enter_procedure(actor=clerk, stamp=next(keys), document=procedure_document(family))
    for site in SITES:
        stock_crib(actor=clerk, stamp=next(keys), site=site, tools=dict.fromkeys(TOOLS, 1000))
    place = Place.objects.create(code=f"({PlaceKind.SUPPLIER.value})", kind=PlaceKind.SUPPLIER.value, real=False)
    spots: dict[str, list[Spot]] = {site: [] for site in SITES}
    for spot in Spot.objects.filter(place__kind=PlaceKind.SHELF).select_related("place__site").order_by("place__code"):
        spots[spot.place.code[0]].append(spot)
    return Catalogue(
        clerk=clerk,
        technician=technician,
        storekeeper=storekeeper,
        sites={site.code: site for site in Site.objects.all()},
        parts={part.number: part for part in parts},
        shelf_spots=spots,
        supplier=Supplier.objects.create(code="maker", name="The maker"),
        supplier_spot=Spot.objects.create(place=place),
        families=list(EngineFamily.objects.order_by("prefix")),
        family_revisions=list(FamilyRevision.objects.order_by("family__prefix")),
        procedure_revisions=list(ProcedureRevision.objects.order_by("procedure__code")),
    )


def _parts() -> list[Part]:
    made = [
        _part(part_number(family, line), sets=line == 1) for family in range(FAMILIES) for line in range(1, LINES + 1)
    ]
    return made + [_part(f"Z-{number:03d}") for number in range(1, OTHER_PARTS + 1)]


def _part(number: str, sets: bool = False) -> Part:
    return Part(
        number=number,
        compare_key=compare_key(number),
        name=f"part {number}",
        kind="matched set" if sets else "hard part",
        unit="EA",
        base="piece",
        tracked_by="set" if sets else "lot",
        weight_mg=9_000_000 if sets else PIECE_MG,
    )
