"""What was read of a surface that was cut since says nothing of it any more: it is read again, not taken together with what came after.

A cut on record counts from the moment at which it was made: what was read before it is closed, what was read after it stands, in
whatever order the two were entered. Entered for the same moment, the order of the entries decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from kits.domain.engine_map import EngineMap
from kits.domain.size_facts import SizeFact


@dataclass(frozen=True, slots=True)
class ReadAt:
    """A reading: what, at which place of the engine, when, and the number of the act that recorded it."""

    what: str
    place: str
    at: datetime
    act: int


@dataclass(frozen=True, slots=True)
class Cut:
    """An entry of an engine's sizes that counts: its id, the name of its size, place, job, when it was made, the number of its act."""

    id: int
    name: str
    place: str
    job: str
    at: datetime
    act: int


def closed_by(read: ReadAt, cuts: Iterable[Cut], facts: Mapping[str, SizeFact], engine_map: EngineMap) -> Cut | None:
    """The first entry that closes a reading; None where nothing does. facts: by name."""
    if engine_map.scope_of(read.place) is None:
        return None
    later = (
        one
        for one in cuts
        if (one.at, one.act) > (read.at, read.act)
        and one.name in facts
        and read.what in facts[one.name].changes
        and _meets(facts[one.name], one.place, read.place, engine_map)
    )
    return min(later, key=lambda one: (one.at, one.act), default=None)


def _meets(fact: SizeFact, cut_at: str, read_at: str, engine_map: EngineMap) -> bool:
    """Whether what was cut there is what was read: the place that holds a position of the size holds the place of the reading, or lies
    in it."""
    for position in fact.positions:
        if engine_map.contains(cut_at, position):
            holder = engine_map.outward(position)[1]
            if engine_map.contains(holder, read_at) or engine_map.contains(read_at, holder):
                return True
    return False
