"""What taking a part out brings, and whether an old one may go back. Pure.

*Removed → renew* is stated by the family: out of which positions a part comes only where a finding is true (a head bolt: the head is
off). Whether an old part goes back does not depend on which procedures are booked: the lines of all of them say of which class it is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from kits.domain.engine_map import EngineMap
from kits.domain.engine_numbers import EngineNumber
from kits.domain.families import RemovedRule
from kits.domain.findings import Closure, Finding, FindingCode, evaluate
from kits.domain.procedures import CLASSES, Operation, PartsLine
from kits.domain.settled import Settled, SettledLine

ALWAYS_NEW = CLASSES[0]
COUNTED = "piece"
#: Kinds that are used up by the work and stay in no joint: that one is not needed says nothing of the joint. Source: common practice.
USED_UP = frozenset({"consumable", "fluid", "lubricant", "measuring", "sealant"})


def removed_findings(
    rules: Iterable[RemovedRule], codes: Mapping[str, FindingCode], engine_map: EngineMap, positions: Iterable[str]
) -> dict[Finding, str]:
    """What is true once parts came out of these positions: finding → the first position that shows it, in the order of the rules."""
    out = list(dict.fromkeys(positions))
    found: dict[Finding, str] = {}
    for rule in rules:
        for position in out:
            if position in rule.positions:
                for place in engine_map.project(position, codes[rule.finding].scope):
                    found.setdefault(Finding(rule.finding, place), position)
    return found


def class_asked(
    operations: Iterable[Operation], position: str, closure: Closure, engine_map: EngineMap, engine_number: EngineNumber
) -> str:
    """The strictest class of the lines of these procedures that ask for something at a position, empty where none does."""
    asked = [
        CLASSES.index(line.line_class)
        for line in _lines_at(operations, position, engine_number)
        if evaluate(line.condition, position, closure, engine_map) is not None
    ]
    return CLASSES[min(asked)] if asked else ""


def class_of_old(
    operations: Collection[Operation],
    position: str,
    closure: Closure,
    engine_map: EngineMap,
    engine_number: EngineNumber,
) -> str:
    """Of which class an old part at a position is by the lines of these procedures, empty where none speaks of it.

    That of the lines that ask for something there; where none does, the mildest of all: nothing asks to renew the part, so it goes
    back as its mildest line lets it, and what every line wants new is new whoever took it out.
    """
    every = [CLASSES.index(line.line_class) for line in _lines_at(operations, position, engine_number)]
    asked = class_asked(operations, position, closure, engine_map, engine_number)
    return asked or (CLASSES[max(every)] if every else "")


def _lines_at(operations: Iterable[Operation], position: str, engine_number: EngineNumber) -> list[PartsLine]:
    """The lines that name a position and fit the engine number."""
    return [
        line
        for operation in operations
        for line in operation.lines
        if position in line.positions and (line.fits is None or line.fits.contains(engine_number))
    ]


def renewed_with(settled: Settled, kinds: Mapping[str, str], touched: Collection[str]) -> dict[str, str]:
    """Positions that are always new under a joint that was opened: position → a touched position of the same joint.

    kinds    part → its kind; what is used up by the work is in no joint
    touched  positions that something was taken out of or went into on the job
    Two positions are of one joint if they stand in one group of the map and one finding puts both on the list.
    """
    opened: dict[tuple[str, str], str] = {}
    for line in settled.lines:
        if line.position in touched and _stays(line, kinds):
            for name in _joints(line):
                opened.setdefault(name, line.position)
    found: dict[str, str] = {}
    for line in settled.lines:
        if line.candidate.line_class == ALWAYS_NEW and _stays(line, kinds):
            at = line.position if line.position in touched else None
            at = at or next((opened[name] for name in _joints(line) if name in opened), None)
            if at is not None:
                found[line.position] = at
    return found


def _stays(line: SettledLine, kinds: Mapping[str, str]) -> bool:
    return line.candidate.amount.base == COUNTED and kinds.get(line.part) not in USED_UP


def _joints(line: SettledLine) -> list[tuple[str, str]]:
    """(group, finding) of a line: the findings that put it on the list, as their chains end."""
    group = line.position.partition("/")[0]
    return [(group, chain[-1]) for because in line.candidate.becauses for chain in because.chains if chain]
