"""What a family's document says of its old parts: how they are marked, what they belong to, whether a lost place is the end of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from kits.domain.engine_map import EngineMap
from kits.domain.fact_values import angles, positions
from kits.domain.facts import Origin
from kits.domain.reading import Reader

#: How an old part is marked as it comes out: the angle it stood at, the side of its number, the end that its arrow points to.
MARKS = ("clock", "side", "arrow")
_KEYS = frozenset({"at", "lost", "bedded_to", "halves", "mark", "turns_deg", "text"})


def read_origins(document: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> tuple[Origin, ...]:
    """The fact `origins`; problems go to the reader."""
    found: list[Origin] = []
    for number, row in enumerate(reader.listing(document, "origins", "facts"), 1):
        where = f"facts, origins {number}"
        entry = reader.mapping(row, where, _KEYS)
        at = frozenset(positions(entry, "at", where, engine_map, reader))
        twice = sorted(position for one in found for position in one.positions & at)
        if twice:
            reader.problem(where, f"{twice[0]} stands in two entries")
        bedded = reader.text(entry, "bedded_to", where, "")
        if bedded and not engine_map.is_position(bedded):
            reader.problem(where, f"no such position: {bedded[:60]!r}")
        mark = reader.text(entry, "mark", where, "")
        if mark not in ("", *MARKS):
            reader.problem(where, f"'mark' is {', '.join(MARKS[:-1])} or {MARKS[-1]}")
        turns = (0,) if entry.get("turns_deg") is None else angles(entry, "turns_deg", where, reader)
        halves = _halves(entry, at, bedded, where, reader)
        # A half whose place is lost may be of any other: it is broken to one half only.
        never = reader.one_of(entry, "lost", where, ("ask", "never"), "ask") == "never" or bool(halves)
        reader.text(entry, "text", where, "")
        found.append(Origin(at, never, bedded, mark, turns, halves))
    return tuple(found)


def _halves(
    entry: Mapping[str, Any], at: frozenset[str], bedded: str, where: str, reader: Reader
) -> tuple[str, str] | None:
    """The names of two halves of one piece, as "rod" and "cap" of a rod that was broken apart; both stand in each of its groups."""
    if entry.get("halves") is None:
        return None
    names = reader.texts(entry, "halves", where, required=True)
    groups = {position.partition("/")[0] for position in at}
    if len(names) != 2 or bedded or at != {f"{group}/{name}" for group in groups for name in names}:
        reader.problem(where, "'halves' are two names that 'at' has in each of its groups, and takes no 'bedded_to'")
        return None
    return names[0], names[1]
