"""Which parts line is meant when a bench says that the list is wrong, and when a line is up for review. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from kits.domain.procedures import Operation
from kits.domain.requirements import Candidate, Explosion
from kits.domain.settled import Settled

#: So often a line is asked about before it is reviewed (the shop's own rule, common practice): "wrong on list" three times for one line.
ASKED_OFTEN = 3

#: (procedure, id of its parts line); an empty id: no line of the procedure asks for the part.
Meant = tuple[str, str]


def lines_meant(
    parts: Collection[str],
    positions: Sequence[str],
    operations: Sequence[Operation],
    explosion: Explosion,
    settled: Settled,
) -> tuple[Meant, ...]:
    """The parts lines that an extra of one of `parts` (the part asked for, and what replaces it) speaks of, sorted.

    On the list: the lines that bring the part, at the positions where any are named; else what the list has at these
    positions instead. Not on the list: lines that ask for it there but whose condition or engine numbers leave it out. Else no
    line at all, of any operation of the job.
    """
    at = set(positions)
    brought = {line.key: line.candidate for line in settled.lines}
    listed = [
        (candidate, brought.get(key))
        for key, requirement in explosion.requirements.items()
        for candidate in requirement.candidates
        if not at or key[0] in at
    ]
    same = [candidate for candidate, _ in listed if candidate.part in parts]
    if same:
        return _lines(same)
    if at and listed:
        return _lines(taken for candidate, taken in listed if taken is candidate) or _lines(one for one, _ in listed)
    left_out = {
        (operation.code, line.id)
        for operation in operations
        for line in operation.lines
        if line.part in parts and (not at or at & set(line.positions))
    }
    return tuple(sorted(left_out)) or tuple(sorted((operation.code, "") for operation in operations))


def _lines(candidates: Iterable[Candidate]) -> tuple[Meant, ...]:
    return tuple(sorted({(why.operation, why.line) for one in candidates for why in one.becauses}))
