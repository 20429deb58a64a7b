"""Which journals of a family are fitted selectively, by which halves: the family's fact `bearings`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inventory.domain.units import Dimension
from kits.domain.bearings import GRADES_APART, Half
from kits.domain.engine_map import EngineMap
from kits.domain.fact_values import amount, limits, positions
from kits.domain.facts import Bearing
from kits.domain.reading import Reader

_KEYS = frozenset(["name", "upper_at", "lower_at", "halves", "fixed", "clearance", "target", "same_undersize"])
_HALF = frozenset({"part", "grade", "wall", "undersize"})
SIDES = ("upper", "lower")


def read_bearings(document: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> tuple[Bearing, ...]:
    """The bearings. `halves` are those that any journal may take; `fixed` names a journal whose halves are given, such as a thrust main
    with flanged ones: `{"at": "MAIN-3", "upper": {half}, "lower": {half}}`, a row for each undersize that it is made for."""
    found = []
    for number, row in enumerate(reader.listing(document, "bearings", "facts"), 1):
        where = f"facts, bearings {number}"
        entry = reader.mapping(row, where, _KEYS)
        sides = _halves(entry, where, reader)
        clearance = limits(
            reader.mapping(entry.get("clearance"), f"{where}, clearance", frozenset({"low", "high"})),
            f"{where}, clearance",
            reader,
        )
        target = amount(entry, "target", where, Dimension.LENGTH, reader, required=True)
        uppers, lowers = (positions(entry, key, where, engine_map, reader) for key in ("upper_at", "lower_at"))
        if len(uppers) != len(lowers):
            reader.problem(where, "there are as many upper halves as lower ones")
        fixed = _fixed(entry, where, {one.partition("/")[0] for one in uppers}, reader)
        if clearance is not None and target is not None:
            name, same = reader.text(entry, "name", where), reader.yes(entry, "same_undersize", where)
            upper, lower = (tuple(sides[side]) for side in SIDES)
            found.append(Bearing(name, upper, lower, uppers, lowers, clearance, target, same, fixed))
    return tuple(found)


def _halves(entry: Mapping[str, Any], where: str, reader: Reader) -> dict[str, list[Half]]:
    sides: dict[str, list[Half]] = {side: [] for side in SIDES}
    for number, row in enumerate(reader.listing(entry, "halves", where, required=True), 1):
        at = f"{where}, half {number}"
        half = reader.mapping(row, at, _HALF | {"side"})
        side, read = reader.one_of(half, "side", at, SIDES), _half(half, at, reader)
        if read is not None:
            sides[side].append(read)
    return sides


def _half(half: Mapping[str, Any], at: str, reader: Reader) -> Half | None:
    wall = amount(half, "wall", at, Dimension.LENGTH, reader, required=True)
    grade = reader.whole(half, "grade", at, low=1, high=20)
    undersize = amount(half, "undersize", at, Dimension.LENGTH, reader) or 0
    part = reader.text(half, "part", at)
    return None if wall is None else Half(part, grade, wall, undersize)


def _fixed(
    entry: Mapping[str, Any], where: str, journals: set[str], reader: Reader
) -> dict[str, tuple[tuple[Half, Half], ...]]:
    found: dict[str, tuple[tuple[Half, Half], ...]] = {}
    for number, row in enumerate(reader.listing(entry, "fixed", where), 1):
        at = f"{where}, fixed {number}"
        its = reader.mapping(row, at, frozenset({"at", *SIDES}))
        journal = reader.text(its, "at", at)
        if journal not in journals:
            reader.problem(at, f"{journal[:60]!r} is no journal of this bearing")
        upper, lower = (
            _half(reader.mapping(its.get(side), f"{at}, {side}", _HALF), f"{at}, {side}", reader) for side in SIDES
        )
        if upper is None or lower is None:
            continue
        if abs(upper.grade - lower.grade) > GRADES_APART or upper.undersize_nm != lower.undersize_nm:
            reader.problem(at, "two halves of one journal are one grade apart at most, and of one undersize")
        if any(upper.undersize_nm == other.undersize_nm for other, _ in found.get(journal, ())):
            reader.problem(at, f"{journal[:60]!r} is fixed twice for one undersize")
        found[journal] = (*found.get(journal, ()), (upper, lower))
    return found
