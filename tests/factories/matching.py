"""What broken sets left, and what is read of it, for tests of sets that are matched again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inventory.models import Item, Person
from inventory.services.break_set import break_set
from kits.services.readings import ReadingIn, record_readings
from tests.factories.stores import PersonFactory, stamp

AT20 = {"part_temperature": "20 °C", "gauge_temperature": "20 °C"}
POINTS = ("top/along", "top/across", "bottom/along", "bottom/across")


def break_one(part: str, serial: str, damaged: str, place: str = "Q1") -> dict[str, int]:
    """A set is broken; its good members by name, as items."""
    done = break_set(
        actor=PersonFactory(), stamp=stamp(), part=part, serial=serial, damaged=damaged, reason="dropped", orphan_place=place,
        photo_ref="photo 12",
    )  # fmt: skip
    return {one["member"]: one["item"] for one in done.body["orphans"]}


def left_of_two(part: str, liner_of: str, piston_of: str, place: str = "Q1") -> dict[str, int]:
    """Two sets are broken: the liner of one and piston with pin of the other are left to be matched."""
    liner = break_one(part, liner_of, "piston", place)["liner"]
    rest = break_one(part, piston_of, "liner", place)
    return {"liner": liner, "piston": rest["piston"], "pin": rest["pin"]}


def read_both(
    job: str,
    them: Mapping[str, int],
    *,
    gauge: str = "G-1",
    bore: str = "86.015 mm",
    piston: str = "85.905 mm",
    weight: str = "",
    scales: str = "W-1",
    by: Person | None = None,
) -> list[int]:
    """Bore in two planes and directions, piston at 14 mm, and its weight with pin where one is given; the ids of the readings."""
    lines = [ReadingIn("bore-diameter", bore, gauge, item=them["liner"], point=point, **AT20) for point in POINTS]
    lines.append(ReadingIn("piston-diameter", piston, gauge, item=them["piston"], point="14 mm", **AT20))
    if weight:
        lines.append(ReadingIn("weight", weight, scales, item=them["piston"], point="with pin"))
    made = record_readings(actor=by or PersonFactory(), stamp=stamp(), job=job, readings=lines)
    return [one["id"] for one in made.body["readings"]]


def identities(part: str) -> dict[str, Any]:
    """Identity text → item id, of everything of a part."""
    return dict(Item.objects.filter(part__number=part).values_list("identity", "pk"))
