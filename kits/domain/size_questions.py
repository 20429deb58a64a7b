"""What the record of an engine's sizes asks before its list is ready, and before a part goes in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kits.domain.engine_map import EngineMap
from kits.domain.findings import Closure
from kits.domain.repaired_threads import repair_at
from kits.domain.requirements import Conflict
from kits.domain.settled import Recorded, Settled, SettledLine
from kits.domain.size_facts import CUT, SIZE, THREAD, UNDERSIZE, SizeFact
from kits.domain.sizes import Entry, counting, left_here, millimetres, overtaken, overtaken_said, standing_nm, within


@dataclass(frozen=True, slots=True)
class Record:
    """The record of an engine as a job meets it. closure: what was found on the job; recorded: its words."""

    facts: Sequence[SizeFact]
    entries: Sequence[Entry]
    job: str
    closure: Closure
    recorded: Sequence[Recorded]
    engine_map: EngineMap

    def held(self, fact: SizeFact, position: str) -> tuple[Entry, ...]:
        """The entries that count at a use position."""
        return counting(self.entries, fact.name, position, self.engine_map)

    def word_on(self, line: SettledLine) -> bool:
        """Whether a person or a measurement said what goes in there: by the line's choice, or by its very part."""
        places = {line.position, *self.engine_map.outward(line.position)}
        choice = line.candidate.choice
        return any(
            one.choice == choice and (one.place in places if choice else (one.place, one.part) == line_of(line))
            for one in self.recorded
        )


def line_of(line: SettledLine) -> tuple[str, str]:
    """Use position and part of a line."""
    return line.position, line.part


def size_questions(record: Record, settled: Settled) -> tuple[Conflict, ...]:
    """What a person has to decide because of the record, in the order of the facts and of the map.

    A part for another size than the piece has, or that does not go into an insert, never goes in, whoever says so. A part that is
    taken only because of the record, or that no choice tells apart, is confirmed by a word. One more cut needs something left to cut;
    what this job cut itself is not asked about.
    """
    found: dict[tuple[str, str], Conflict] = {}
    for fact in record.facts:
        if fact.kind == CUT:
            found |= _no_cut_left(fact, record)
        for line in settled.lines:
            if line.position in fact.positions and (asked := asked_by(fact, record, line)):
                name = (fact.name, line.candidate.choice or line.position)
                found.setdefault(name, Conflict("size-on-record", *line.key, asked, (line.part,), True))
    return tuple(found.values())


def why_not_in(record: Record, line: SettledLine) -> str:
    """What the record has against the part of a line as it stands; empty: nothing."""
    mine = (fact for fact in record.facts if line.position in fact.positions)
    return next((asked for fact in mine if (asked := asked_by(fact, record, line))), "")


def asked_by(fact: SizeFact, record: Record, line: SettledLine) -> str:
    """What one fact asks about a line at one of its positions; empty: nothing."""
    held = record.held(fact, line.position)
    if not held:
        return ""
    if fact.kind == THREAD:
        why = _by_insert(record, line)
        return f"{fact.name}: {why}" if why else ""
    if fact.kind == UNDERSIZE:
        why = _by_undersize(fact, line, standing_nm(fact, held) or 0, record)
    elif (since := overtaken(record.facts, fact, line.position, record.entries, record.engine_map)) is not None:
        why = _by_nothing(fact, line, since, record)
    elif fact.kind in (CUT, SIZE):
        why = _by_range(fact, line, standing_nm(fact, held), record)
    else:
        return ""
    return f"{fact.name}: {_by(fact, held)}; {why}" if why else ""


def _by(fact: SizeFact, held: Sequence[Entry]) -> str:
    one = held[-1]
    gauge = f", gauge {one.gauge}" if one.gauge else ""
    more = f", {millimetres(standing_nm(fact, held) or 0)} in all" if fact.kind == CUT and len(held) > 1 else ""
    return f"{millimetres(one.value_nm or 0)} by job {one.job} on {one.on.isoformat()}{gauge}{more}"


def _by_undersize(fact: SizeFact, line: SettledLine, off: int, record: Record) -> str:
    if not off:
        return ""
    decided = record.word_on(line) or (bool(fact.finding) and bool(record.closure.places(fact.finding)))
    if line.candidate.choice == fact.choice and fact.takes:
        made_for = fact.takes.get(line.candidate.alternative, 0)
        if made_for < off:
            return f"{line.part} is for {millimetres(made_for)}: enter what fits, or the size of the piece if it was renewed"
        return "" if decided or made_for > off else f"{line.part} is taken by that record: a person confirms it"
    return "" if decided else f"a person says whether {line.part} is right for that"


def _by_range(fact: SizeFact, line: SettledLine, value: int | None, record: Record) -> str:
    """By a measured size or a cut: the parts of an alternative go with a range of it; without ranges the size has limits."""
    if value is None:
        return ""
    if line.candidate.choice == fact.choice and fact.spans:
        span = fact.spans.get(line.candidate.alternative)
        if span is None or within(span, value):
            return ""
        low, high = (millimetres(one) for one in (span.low_nm or 0, span.high_nm or 0))
        return f"{line.part} is for {low} to {high}: enter what fits, or the size of the piece if it was renewed"
    if fact.kind == CUT or fact.spans or fact.limits is None or within(fact.limits, value) or record.word_on(line):
        return ""
    return f"that is outside its limits: a person says whether {line.part} is right for that"


def _by_nothing(fact: SizeFact, line: SettledLine, since: Entry, record: Record) -> str:
    """By a measured size that was overtaken: it decides neither for nor against a part that it would have decided."""
    decides = (fact.spans and line.candidate.choice == fact.choice) or (fact.limits is not None and not fact.spans)
    if not decides or record.word_on(line):
        return ""
    return f"{overtaken_said(since)}: measure it again and enter it, or a person says whether {line.part} is right for that"


def _by_insert(record: Record, line: SettledLine) -> str:
    repair = repair_at(record.facts, record.entries, line.position, record.engine_map)
    if repair is None:
        return ""
    if not repair.parts:
        return "" if record.word_on(line) else f"{repair.said}; a person says whether {line.part} is right for that"
    if line.part not in repair.parts:
        return f"{repair.said}; {line.part} does not go into it: enter {' or '.join(repair.parts)}, or what was entered wrongly"
    if line.part == line.candidate.part or record.word_on(line):
        return ""
    return f"{repair.said}; {line.part} is taken by that record: a person confirms it"


def _no_cut_left(fact: SizeFact, record: Record) -> dict[tuple[str, str], Conflict]:
    found: dict[tuple[str, str], Conflict] = {}
    engine_map = record.engine_map
    before = [one for one in record.entries if one.job != record.job]
    for place in record.closure.places(fact.finding) if fact.finding else ():
        for position in sorted(fact.positions, key=engine_map.order):
            if not engine_map.contains(place, position):
                continue
            left = left_here(record.facts, fact, before, position, engine_map)
            held = counting(before, fact.name, position, engine_map)
            if left is None or left >= max(fact.least_nm or 0, 1):
                continue
            needed = f", one more takes {millimetres(fact.least_nm)}" if fact.least_nm else ""
            on_record = f" {_by(fact, held)};" if held else ""
            detail = (
                f"{fact.name} at {place}:{on_record} {millimetres(left)} is left to cut{needed}:"
                " withdraw the finding, or enter the size of the new piece"
            )
            found[fact.name, place] = Conflict("size-on-record", position, 1, detail, (), True)
    return found


def not_entered(record: Record) -> Iterable[tuple[SizeFact, str]]:
    """Each size that the job changed by what was found on it, with the place, and of which it entered nothing: the next job would not
    know of it. Each place once, in the order of the facts."""
    mine = [one for one in record.entries if one.job == record.job]
    for fact in record.facts:
        if fact.kind not in (CUT, UNDERSIZE) or not fact.finding:
            continue
        for place in record.closure.places(fact.finding):
            where = [one for one in fact.positions if record.engine_map.contains(place, one)]
            if any(not counting(mine, fact.name, one, record.engine_map) for one in where):
                yield fact, place
