"""The values of a list after its choices: lines with one part each, choices still open, totals, what was taken off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kits.domain.requirements import Candidate, Conflict, Key, RuledOut

#: What a recorded choice says where at most one alternative may be taken and none is wanted.
NONE = "none"
#: What a recorded word says where a listed part and a buy-in meet and the buy-in is right.
BUY_IN = "buy-in"
#: What a recorded word begins with that confirms a fill of so much: `fill:9 L`.
FILL = "fill:"


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a person or a measurement chose.

    choice       code of the choice; empty where a conflict of parts at one position is settled
    place        over which it holds: ENGINE, a bank, or a position
    alternative  one of the choice's alternatives, or `none`; empty where only a part is named
    part         a part taken in place of the line's own (it comes in by a replacement), or the part that settles a conflict

    It holds for every make of a joint.
    """

    choice: str
    place: str
    alternative: str = ""
    part: str = ""


@dataclass(frozen=True, slots=True)
class SettledLine:
    """One requirement with one part. `reason` says how the choice was made, empty where there was none to make; `in_place_of` is the
    listed part where a person took another one for it."""

    position: str
    make: int
    part: str
    candidate: Candidate
    reason: str
    in_place_of: str = ""

    @property
    def key(self) -> Key:
        """(position, make)."""
        return (self.position, self.make)


@dataclass(frozen=True, slots=True)
class OpenChoice:
    """A choice that is still to be made over `keys`. candidates: (alternative, parts), in the order of the alternatives."""

    choice: str
    place: str
    rule: str
    by: str
    keys: tuple[Key, ...]
    candidates: tuple[tuple[str, tuple[str, ...]], ...]
    text: str


@dataclass(frozen=True, slots=True)
class Settled:
    """A list with its choices made as far as they can be; the tuples are in map order. Not complete while anything is open.

    decided    (choice, place, alternative) of every choice that is made
    left_out   keys where a choice took none, or the alternative taken needs nothing there
    """

    lines: tuple[SettledLine, ...]
    open_choices: tuple[OpenChoice, ...]
    conflicts: tuple[Conflict, ...]
    decided: tuple[tuple[str, str, str], ...]
    left_out: tuple[Key, ...]
    ruled_out: tuple[RuledOut, ...]

    @property
    def complete(self) -> bool:
        """Whether nothing is open and no conflict waits for a person."""
        return not self.open_choices and not any(conflict.needs_person for conflict in self.conflicts)


@dataclass(frozen=True, slots=True)
class PartTotal:
    """How much of one part the list takes, in its base unit, and at which positions (a position for each make)."""

    part: str
    base: str
    amount: int
    keys: tuple[Key, ...]


@dataclass(frozen=True, slots=True)
class Reuse:
    """A part that goes back: where it goes, where it came from, the record of its inspection, whether it passed; which item, where
    that is known."""

    position: str
    came_from: str
    inspection: str
    passed: bool
    make: int = 1
    item: int | None = None


@dataclass(frozen=True, slots=True)
class TakenOff:
    """A list without its reused positions. refused: (position, sentence) for each wish that could not be followed."""

    settled: Settled
    taken: tuple[SettledLine, ...]
    refused: tuple[tuple[str, str], ...]


def totals(settled: Settled) -> tuple[PartTotal, ...]:
    """Settled lines added up by part and base unit, sorted by part; open choices are not in it."""
    amounts: dict[tuple[str, str], int] = {}
    keys: dict[tuple[str, str], list[Key]] = {}
    for line in settled.lines:
        name = (line.part, line.candidate.amount.base)
        amounts[name] = amounts.get(name, 0) + line.candidate.amount.amount
        keys.setdefault(name, []).append(line.key)
    return tuple(PartTotal(part, base, amounts[part, base], tuple(keys[part, base])) for part, base in sorted(amounts))


def take_off(settled: Settled, reused: Mapping[Key, Reuse] | tuple[Reuse, ...]) -> TakenOff:
    """Take the positions off the list whose old part goes back.

    Never an always-new line; never without a record of an inspection that it passed; with `original_place` only where the part
    came from. Everything refused stays on the list and is named with its reason.
    """
    wishes = tuple(reused.values()) if isinstance(reused, Mapping) else reused
    by_key = {line.key: line for line in settled.lines}
    taken: dict[Key, SettledLine] = {}
    refused: list[tuple[str, str]] = []
    for wish in sorted(wishes, key=lambda wish: (wish.position, wish.make)):
        line = by_key.get((wish.position, wish.make))
        reason = _why_not_reused(line, wish)
        if line is None or reason:
            refused.append((wish.position, reason))
        else:
            taken[line.key] = line
    rest = Settled(
        lines=tuple(line for line in settled.lines if line.key not in taken),
        open_choices=settled.open_choices,
        conflicts=settled.conflicts,
        decided=settled.decided,
        left_out=settled.left_out,
        ruled_out=settled.ruled_out,
    )
    return TakenOff(rest, tuple(line for line in settled.lines if line.key in taken), tuple(refused))


def _why_not_reused(line: SettledLine | None, wish: Reuse) -> str:
    if line is None:
        return f"{wish.position} is not on the list, so there is nothing to take off."
    if line.candidate.line_class == "always-new":
        return f"{line.part} at {wish.position} is always new: it is never reused."
    if not wish.inspection.strip():
        return f"{wish.position}: no inspection is recorded, so its part cannot be reused."
    if not wish.passed:
        return f"{wish.position}: the inspection {wish.inspection} was not passed."
    if line.candidate.original_place and wish.came_from != wish.position:
        return f"{wish.position}: a reused part goes back to its own place, this one came from {wish.came_from or 'an unknown place'}."
    return ""
