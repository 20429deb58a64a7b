"""What an extra that was found after strip says was found: the findings that its parts line names. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from kits.domain.findings import Condition, Leaf
from kits.domain.procedures import Operation


def needed(condition: Condition | None) -> frozenset[str]:
    """The codes without which a condition is not true: of *all* those of every part, of *any* those that each part needs.

    None, a line that is always asked for, needs none. "Low or cracked" says of neither that it was found.
    """
    if condition is None:
        return frozenset()
    if isinstance(condition, Leaf):
        return frozenset({condition.code})
    parts = [needed(part) for part in condition.parts]
    return frozenset.union(*parts) if condition.every else frozenset.intersection(*parts)


def findings_meant(
    parts: Collection[str], positions: Sequence[str], operations: Sequence[Operation]
) -> tuple[str, ...]:
    """The findings that one more of a part, found after strip, says for certain; sorted.

    parts      numbers of the part and of what replaces it
    positions  where it goes; none: anywhere that a line has it

    Of the lines that ask for it there, whether their condition was true or not: the codes that every one of them needs. What the
    booking of an operation brings by itself (`opens`) is not found.
    """
    at = set(positions)
    lines = [
        line
        for operation in operations
        for line in operation.lines
        if line.part in parts and (not at or at & set(line.positions))
    ]
    if not lines:
        return ()
    opened = {code for operation in operations for code in operation.opens}
    return tuple(sorted(frozenset.intersection(*(needed(line.condition) for line in lines)) - opened))


def once_a_job(found: Iterable[tuple[int, str]]) -> dict[str, int]:
    """Code → on how many jobs, from (job, code) however often each was said: recorded at the strip, or asked for after it."""
    counted: dict[str, int] = {}
    for _, code in sorted(set(found)):
        counted[code] = counted.get(code, 0) + 1
    return counted
