"""What changed between two lists of a job: the difference by position, never by part total."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kits.domain.requirements import Explosion, Key
from kits.domain.settled import Settled


@dataclass(frozen=True, slots=True)
class Entry:
    """What one position (and make) stood for on a list: its part, or several candidates while a choice is open."""

    parts: tuple[str, ...]
    amount: int
    base: str
    line_class: str


@dataclass(frozen=True, slots=True)
class Changes:
    """Keys are in the order of the list they come from. Every key of both lists is in exactly one of the four.

    revisions  (operation, revision before or None, revision after or None) where the two lists used different ones
    """

    added: tuple[tuple[Key, Entry], ...]
    removed: tuple[tuple[Key, Entry], ...]
    changed: tuple[tuple[Key, Entry, Entry], ...]
    kept: tuple[tuple[Key, Entry], ...]
    revisions: tuple[tuple[str, int | None, int | None], ...]

    def sentences(self) -> tuple[str, ...]:
        """What was said about revisions, for the head of the printed difference."""
        said = []
        for operation, before, after in self.revisions:
            if before is None:
                said.append(f"{operation} revision {after} came onto the job.")
            elif after is None:
                said.append(f"{operation} revision {before} left the job.")
            else:
                said.append(f"{operation}: the earlier list used revision {before}, this one revision {after}.")
        return tuple(said)


def entries(explosion: Explosion, settled: Settled, taken_off: frozenset[Key] = frozenset()) -> dict[Key, Entry]:
    """The list as `difference` compares it: settled lines with their part, all else with every candidate.

    taken_off  keys of reused positions, which are not on the list any more
    """
    parts = {line.key: (line.part,) for line in settled.lines}
    classes = {line.key: line.candidate for line in settled.lines}
    gone = taken_off | frozenset(settled.left_out)
    listed: dict[Key, Entry] = {}
    for key, requirement in explosion.requirements.items():
        if key in gone:
            continue
        candidate = classes.get(key, requirement.candidates[0])
        every = parts.get(key) or tuple(sorted({one.part for one in requirement.candidates}))
        listed[key] = Entry(every, candidate.amount.amount, candidate.amount.base, candidate.line_class)
    return listed


def difference(
    before: Mapping[Key, Entry],
    after: Mapping[Key, Entry],
    revisions_before: Mapping[str, int] | None = None,
    revisions_after: Mapping[str, int] | None = None,
) -> Changes:
    """Added, removed, changed and kept positions. The new list = old list − removed + added, with the changed replaced."""
    old, new = dict(revisions_before or {}), dict(revisions_after or {})
    return Changes(
        added=tuple((key, entry) for key, entry in after.items() if key not in before),
        removed=tuple((key, entry) for key, entry in before.items() if key not in after),
        changed=tuple(
            (key, before[key], entry) for key, entry in after.items() if key in before and before[key] != entry
        ),
        kept=tuple((key, entry) for key, entry in after.items() if key in before and before[key] == entry),
        revisions=tuple(
            (code, old.get(code), new.get(code)) for code in sorted({*old, *new}) if old.get(code) != new.get(code)
        ),
    )
