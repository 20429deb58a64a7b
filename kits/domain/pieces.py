"""The pieces of an engine that go to an outside machinist, and the steps that cannot begin without them. Pure.

A piece that sat at a use position is needed by every step whose parts lines name a position of that position's group. What it is
needed for beside its group (a crankshaft for the shells of mains and rods) stands in the family's document under facts, `pieces`:
`{"at": "CRANK/crankshaft", "needed_at": ["MAIN-*/shells", "ROD-*/shells"]}`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from inventory.domain.errors import DomainError
from kits.domain.engine_map import EngineMap
from kits.domain.reading import Reader
from kits.domain.startable import StepKey

#: Use position of a piece → the other use positions at which nothing is done without it.
NeededAt = Mapping[str, frozenset[str]]


def read_pieces(facts: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> NeededAt:
    """The fact `pieces` of a family; what is wrong goes to `reader`."""
    found: dict[str, frozenset[str]] = {}
    for index, entry in enumerate(reader.listing(facts, "pieces", "facts"), start=1):
        where = f"piece {index}"
        row = reader.mapping(entry, where, frozenset({"at", "needed_at"}))
        needed = _positions(row, "needed_at", engine_map, where, reader)
        for position in _positions(row, "at", engine_map, where, reader):
            if position in found:
                reader.problem(where, f"{position} is stated twice")
            found[position] = needed
    return found


def _positions(row: Mapping[str, Any], key: str, engine_map: EngineMap, where: str, reader: Reader) -> frozenset[str]:
    given = row.get(key)
    patterns = [given] if isinstance(given, str) else given
    if not isinstance(patterns, list) or not patterns or not all(isinstance(one, str) for one in patterns):
        reader.problem(where, f"{key!r} takes use positions of the map")
        return frozenset()
    try:
        return frozenset(engine_map.expand(patterns))
    except DomainError as error:
        reader.problem(where, error.message)
        return frozenset()


def steps_needing(
    positions: Collection[str], lines: Mapping[StepKey, Collection[str]], needed_at: NeededAt
) -> frozenset[StepKey]:
    """The steps that cannot begin without a piece that sat at these positions.

    lines  every step → the use positions that its parts lines name
    Where no line says which step needs it (its place is not known, or no line names its group), every step waits for it: better a day
    too late than a bench without its block.
    """
    groups = {_group(position) for position in positions}
    beside = {at for position in positions for at in needed_at.get(position, ())}
    named = {key for key, its in lines.items() if any(_group(at) in groups or at in beside for at in its)}
    return frozenset(named or lines)


def _group(position: str) -> str:
    return position.partition("/")[0]
