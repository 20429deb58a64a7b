"""The list as people read it: settled positions gathered into lines in order of work. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from kits.domain.procedures import Operation
from kits.domain.requirements import Candidate, Explosion, Key
from kits.domain.settled import Settled, SettledLine
from kits.domain.trays import step_order

#: What lies together on a line: rank of its step, tray, part, class, base, how, whether on approval.
_Group = tuple[int, int, str, str, str, str, bool]


@dataclass(frozen=True, slots=True)
class ListLine:
    """One line: one part at one step for one reason-class, over all its positions.

    keys      (position, make), in map order; amounts hold what each takes, in whole `base` units
    becauses  why, each sentence once, for every unit on the line
    on_approval  one of several candidates of a measured choice that is still open: it goes along, and comes back if not chosen
    """

    number: int
    operation: str
    step: int
    tray: int
    part: str
    keys: tuple[Key, ...]
    amounts: tuple[int, ...]
    base: str
    how: str
    line_class: str
    becauses: tuple[str, ...]
    tools: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    reason: str = ""
    on_approval: bool = False

    @property
    def amount(self) -> int:
        """The sum over the positions, in `base` units."""
        return sum(self.amounts)

    @property
    def positions(self) -> tuple[str, ...]:
        """Position names, with the make where a joint is made more than once."""
        return tuple(name if make == 1 else f"{name} (make {make})" for name, make in self.keys)


def order_of_work(operations: Sequence[Operation]) -> dict[tuple[str, int], int]:
    """Rank of each (operation, step) over all operations of the job.

    By step number, then in the order the operations were booked, but never before a step it waits for. A joint that two
    operations open is closed once, at the later of its two steps.
    """
    steps = sorted(
        (step.step, at, operation.code, step.after)
        for at, operation in enumerate(operations)
        for step in operation.steps
    )
    names = {f"{code}/{step}": (code, step) for step, _, code, _ in steps}
    order = step_order([(f"{code}/{step}", [f"{code}/{before}" for before in after]) for step, _, code, after in steps])
    return {names[name]: rank for rank, name in enumerate(order)}


def candidates_of(explosion: Explosion, settled: Settled) -> tuple[SettledLine, ...]:
    """Every candidate of the measured choices of one position that are still open: all of them go along on approval."""
    return tuple(
        SettledLine(*one.keys[0], candidate.part, candidate, "")
        for one in settled.open_choices
        if one.by == "measured" and len(one.keys) == 1
        for candidate in explosion.requirements[one.keys[0]].candidates
    )


def lines_of(
    settled: Settled,
    operations: Sequence[Operation],
    skip: Iterable[str] = (),
    parts: Mapping[Key, str] | None = None,
    candidates: Sequence[SettledLine] = (),
) -> tuple[ListLine, ...]:
    """Gather settled positions into lines, in order of work; candidates that go along on approval are lines among them.

    skip   positions that get nothing ("not needed because …")
    parts  the part taken in place of the listed one, by key (replacements)
    """
    skipped, replaced = set(skip), dict(parts or {})
    rank = order_of_work(operations)
    groups: dict[_Group, list[SettledLine]] = {}
    for line, on_approval in [*((line, False) for line in settled.lines), *((line, True) for line in candidates)]:
        if line.position in skipped:
            continue
        where = _last_work(line.candidate, rank)
        part = replaced.get(line.key, line.part)
        key = (
            rank.get(where[:2], len(rank)), where[2], part, line.candidate.line_class, line.candidate.amount.base,
            line.candidate.amount.how, on_approval,
        )  # fmt: skip
        groups.setdefault(key, []).append(line)
    return tuple(
        _line(number, key, groups[key], rank) for number, key in enumerate(sorted(groups, key=lambda key: key[:3]), 1)
    )


def _line(
    number: int,
    key: _Group,
    members: Sequence[SettledLine],
    rank: Mapping[tuple[str, int], int],
) -> ListLine:
    candidates = [line.candidate for line in members]
    first = _last_work(candidates[0], rank)
    return ListLine(
        number=number,
        operation=first[0],
        step=first[1],
        tray=key[1],
        part=key[2],
        keys=tuple(line.key for line in members),
        amounts=tuple(candidate.amount.amount for candidate in candidates),
        base=key[4],
        how=key[5],
        line_class=key[3],
        becauses=tuple(dict.fromkeys(one.sentence() for candidate in candidates for one in candidate.becauses)),
        tools=_each(candidates, "tools"),
        notes=_each(candidates, "notes"),
        cautions=_each(candidates, "cautions"),
        reason=next((line.reason for line in members if line.reason), ""),
        on_approval=key[6],
    )


def _last_work(candidate: Candidate, rank: Mapping[tuple[str, int], int]) -> tuple[str, int, int]:
    """Where a part is needed: at the last of the steps that ask for it."""
    if len(candidate.work) == 1:
        return candidate.work[0]
    return max(candidate.work, key=lambda work: (rank.get(work[:2], len(rank)), work))


def _each(candidates: Sequence[Candidate], name: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word for candidate in candidates for word in getattr(candidate, name)))


def special_tools(lines: Sequence[ListLine]) -> dict[str, tuple[str, ...]]:
    """Special tools to lend with the cart, each with the steps that use it, in order of work."""
    used: dict[str, dict[str, None]] = {}
    for line in lines:
        for tool in line.tools:
            used.setdefault(tool, {})[f"{line.operation}/{line.step}"] = None
    return {tool: tuple(steps) for tool, steps in used.items()}


def unexplained(lines: Sequence[ListLine]) -> list[str]:
    """Positions of lines without a because: an error wherever it is not empty."""
    return [position for line in lines if not line.becauses for position in line.positions]


def parts_named(explosion: Explosion) -> set[str]:
    """Every part number that a list can name, whatever the choices say."""
    return {candidate.part for requirement in explosion.requirements.values() for candidate in requirement.candidates}
