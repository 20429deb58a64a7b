"""Threads that were repaired with an insert: which parts go into the hole from then on.

What goes into which insert is the family's to say (`inserts` of a thread); the maker of the insert and the maker's manual override it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from kits.domain.engine_map import EngineMap
from kits.domain.settled import Recorded, Settled, SettledLine
from kits.domain.size_facts import THREAD, SizeFact, plain
from kits.domain.sizes import Entry, counting


@dataclass(frozen=True, slots=True)
class Repair:
    """An insert in a hole. parts: numbers that go into it, the first as the usual one; empty: the family does not say."""

    fact: SizeFact
    entry: Entry
    parts: tuple[str, ...]

    @property
    def said(self) -> str:
        """For a person."""
        return f"insert {self.entry.detail} by job {self.entry.job} on {self.entry.on.isoformat()}"


def repair_at(
    facts: Iterable[SizeFact], entries: Sequence[Entry], position: str, engine_map: EngineMap
) -> Repair | None:
    """The insert that is in the hole of a use position; None: none, or it was taken out with the old block."""
    for fact in facts:
        if fact.kind == THREAD and position in fact.positions:
            held = counting(entries, fact.name, position, engine_map)
            if held and held[-1].detail.strip():
                return Repair(fact, held[-1], fact.inserts.get(plain(held[-1].detail), ()))
    return None


def insert_parts(facts: Iterable[SizeFact], entries: Sequence[Entry]) -> frozenset[str]:
    """Numbers of all parts that go into inserts on record."""
    found: set[str] = set()
    for fact in facts:
        if fact.kind == THREAD:
            for one in entries:
                if one.name == fact.name:
                    found |= set(fact.inserts.get(plain(one.detail), ()))
    return frozenset(found)


def as_repaired(
    facts: Sequence[SizeFact],
    entries: Sequence[Entry],
    settled: Settled,
    recorded: Iterable[Recorded],
    known: Collection[str],
    engine_map: EngineMap,
) -> Settled:
    """A list whose parts go into the inserts on record: where no choice tells parts apart, the part that a person named for the hole,
    else the usual one. Parts that are not in the catalogue (`known`) are not listed; `size_questions` asks about the line."""
    named = {one.place: one.part for one in recorded if not one.choice and one.part}

    def taken(line: SettledLine) -> SettledLine:
        if line.candidate.choice:
            return line
        repair = repair_at(facts, entries, line.position, engine_map)
        parts = [one for one in repair.parts if one in known] if repair is not None else []
        word = named.get(line.position, "")
        part = word if word in parts else line.part if line.part in parts else parts[0] if parts else line.part
        if part == line.part or repair is None:
            return line
        return replace(line, part=part, reason=f"for the {repair.said}")

    return replace(settled, lines=tuple(taken(line) for line in settled.lines))


def does_not_go_in(
    facts: Iterable[SizeFact], entries: Sequence[Entry], position: str, part: str, engine_map: EngineMap
) -> str:
    """Why a part does not go into the hole of a use position; empty: nothing on record is against it."""
    repair = repair_at(facts, entries, position, engine_map)
    if repair is None or not repair.parts or part in repair.parts:
        return ""
    return f"{part} does not go into the {repair.said}: {' or '.join(repair.parts)} does"
