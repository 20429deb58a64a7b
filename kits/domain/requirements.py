"""The values of a list before its choices are settled: requirements, candidates, reasons, conflicts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from kits.domain.amounts import LineAmount
from kits.domain.engine_numbers import EngineNumber
from kits.domain.families import Family
from kits.domain.findings import Closure, Finding

#: A use position and the make number of what sits there.
Key = tuple[str, int]


@dataclass(frozen=True, slots=True, order=True)
class Because:
    """Why a unit is on the list: operation, step and line, the chains of findings behind it, the engine numbers it fits."""

    operation: str
    revision: int
    step: int
    line: str
    text: str
    chains: tuple[tuple[str, ...], ...]
    numbers: str

    def sentence(self) -> str:
        """The reason in one line of words."""
        why = "; ".join(" → ".join(chain) for chain in self.chains) or "always when the operation is on the job"
        said = f"{self.operation} step {self.step}" + (f" ({self.line})" if self.line else "") + f": {why}"
        said += f"; {self.text}" if self.text else ""
        return said + (f"; fits {self.numbers}" if self.numbers else "")


@dataclass(frozen=True, slots=True)
class Candidate:
    """One part that may fill a requirement. `work` holds (operation, step, tray), sorted; the first is where it is needed."""

    part: str
    amount: LineAmount
    line_class: str
    choice: str
    alternative: str
    original_place: bool
    shop_rule: bool
    tools: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    work: tuple[tuple[str, int, int], ...]
    becauses: tuple[Because, ...]


@dataclass(frozen=True, slots=True)
class Requirement:
    """What one position (and make) needs: one candidate, or the alternatives of a choice, or parts in conflict."""

    position: str
    make: int
    candidates: tuple[Candidate, ...]

    @property
    def key(self) -> Key:
        """(position, make)."""
        return (self.position, self.make)


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two wishes that do not agree. kind: part, class, amount, buy-in, not-alike, uncovered, not-a-candidate, ruled-out.

    `needs_person` is False where the stricter wish was taken and the conflict is only shown.
    """

    kind: str
    position: str
    make: int
    detail: str
    parts: tuple[str, ...]
    needs_person: bool


@dataclass(frozen=True, slots=True)
class RuledOut:
    """A part that the engine number rules out at a position where its condition is true; `numbers` in words."""

    position: str
    make: int
    part: str
    choice: str
    alternative: str
    numbers: str
    operation: str
    line: str


@dataclass(frozen=True, slots=True)
class BuyIn:
    """A position that needs a part without a number in the catalogue."""

    position: str
    amount: LineAmount
    text: str
    chain: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Explosion:
    """The list before choices are settled. Tuples and mappings are in map order.

    empty_operations  (operation, sentence): on the job, but brought nothing
    unserved          findings for which no operation on the job has a line, a rule or a buy-in
    joins             (operation, chain in words): a rule brings it onto the job, and it is not on it yet
    choice_parts      choice → position → alternative → parts, of all lines whether or not their condition is true
    """

    family: Family = field(repr=False)
    engine_number: EngineNumber
    revisions: tuple[tuple[str, int], ...]
    requirements: Mapping[Key, Requirement]
    conflicts: tuple[Conflict, ...]
    ruled_out: tuple[RuledOut, ...]
    buy_ins: tuple[BuyIn, ...]
    empty_operations: tuple[tuple[str, str], ...]
    unserved: tuple[Finding, ...]
    joins: tuple[tuple[str, tuple[str, ...]], ...]
    choice_parts: Mapping[str, Mapping[str, Mapping[str, frozenset[str]]]] = field(repr=False)
    closure: Closure = field(repr=False)
