"""What the record of an engine's sizes asks before its list is ready."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kits.domain.engine_map import EngineMap
from kits.domain.findings import Closure
from kits.domain.requirements import Conflict
from kits.domain.settled import Recorded, Settled, SettledLine
from kits.domain.sizes import CUT, UNDERSIZE, Entry, SizeFact, counting, left_nm, millimetres, standing_nm


def size_questions(
    facts: Sequence[SizeFact],
    entries: Sequence[Entry],
    job: str,
    settled: Settled,
    closure: Closure,
    recorded: Iterable[Recorded],
    engine_map: EngineMap,
) -> tuple[Conflict, ...]:
    """What a person has to decide because of the record, in the order of the facts and of the map.

    A part for less than what is off never goes in, whoever says so. A part that is taken only because of the record, or that no
    choice tells apart, is confirmed by a word. One more cut needs something left to cut; what this job cut itself is not asked about.
    """
    said = {(one.choice, one.place) for one in recorded}
    before = [one for one in entries if one.job != job]
    found: dict[tuple[str, str], Conflict] = {}
    for fact in facts:
        if fact.kind == CUT:
            found |= _no_cut_left(fact, before, closure, engine_map)
        if fact.kind != UNDERSIZE:
            continue
        for line in settled.lines:
            if line.position in fact.positions:
                held = counting(entries, fact.name, line.position, engine_map)
                off = standing_nm(fact, held) or 0
                holders = (line.position, *engine_map.outward(line.position))
                word = any((line.candidate.choice, place) in said for place in holders)
                asked = _why_asked(fact, line, off, word or (bool(fact.finding) and bool(closure.places(fact.finding))))
                if asked:
                    name = (fact.name, line.candidate.choice or line.position)
                    detail = f"{fact.name}: {_by(held[-1])}; {asked}"
                    found.setdefault(name, Conflict("size-on-record", *line.key, detail, (line.part,), True))
    return tuple(found.values())


def _by(one: Entry) -> str:
    gauge = f", gauge {one.gauge}" if one.gauge else ""
    return f"{millimetres(one.value_nm or 0)} by job {one.job} on {one.on.isoformat()}{gauge}"


def _why_asked(fact: SizeFact, line: SettledLine, off: int, decided: bool) -> str:
    """Why a line is asked about, empty where it is not. decided: a word is on record, or the job itself found it so."""
    if not off:
        return ""
    if line.candidate.choice == fact.choice and fact.takes:
        made_for = fact.takes.get(line.candidate.alternative, 0)
        if made_for < off:
            return f"{line.part} is for {millimetres(made_for)}: enter what fits, or the size of the piece if it was renewed"
        return "" if decided or made_for > off else f"{line.part} is taken by that record: a person confirms it"
    return "" if decided else f"a person says whether {line.part} is right for that"


def _no_cut_left(
    fact: SizeFact, before: Sequence[Entry], closure: Closure, engine_map: EngineMap
) -> dict[tuple[str, str], Conflict]:
    found: dict[tuple[str, str], Conflict] = {}
    for place in closure.places(fact.finding) if fact.finding else ():
        for position in sorted(fact.positions, key=engine_map.order):
            if not engine_map.contains(place, position):
                continue
            held = counting(before, fact.name, position, engine_map)
            left = left_nm(fact, held)
            if not held or left is None or left >= max(fact.least_nm or 0, 1):
                continue
            needed = f", one more takes {millimetres(fact.least_nm)}" if fact.least_nm else ""
            detail = (
                f"{fact.name} at {place}: {_by(held[-1])}; {millimetres(left)} is left to cut{needed}:"
                " withdraw the finding, or enter the size of the new piece"
            )
            found[fact.name, place] = Conflict("size-on-record", position, 1, detail, (), True)
    return found
