"""Which steps can begin with what is here: a step whose own lines, and those of every step it waits for, are complete. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

#: An operation and a step of it.
StepKey = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Stage:
    """A step in order of work.

    after    steps it waits for
    lacking  part → how much of it is not here, whole base units; empty: everything is here
    bead     a sealant joint is made in it: it never begins on part of its things, a bead cannot wait
    out      pieces that it needs and that are at an outside machinist, each in words
    asked    there is something to do in it on this job
    shown    part → what is not here as people write it, "3 mL"; a part that is left out is shown by its number
    """

    key: StepKey
    after: tuple[StepKey, ...]
    lacking: Mapping[str, int]
    bead: bool = False
    out: tuple[str, ...] = ()
    asked: bool = True
    shown: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether a step can begin; if not, what it lacks itself and which steps it waits for."""

    key: StepKey
    can_start: bool
    waits_for: tuple[StepKey, ...]
    why: tuple[str, ...]


def startable(stages: Sequence[Stage]) -> tuple[Standing, ...]:
    """How each step that asks for something stands, in the order given (a step never stands before one that it waits for).

    A step that another waits for, but that asks for nothing on this job, holds nobody up itself: what it waits for does.
    """
    holds_up: dict[StepKey, tuple[StepKey, ...]] = {}
    found = []
    for stage in stages:
        waits = tuple(dict.fromkeys(one for key in stage.after for one in holds_up.get(key, ())))
        if not stage.asked:
            holds_up[stage.key] = waits
            continue
        why = [f"{part}: {stage.shown.get(part, amount)} missing" for part, amount in stage.lacking.items()]
        why += stage.out
        if stage.bead and why:
            why.append("a bead cannot wait: the joint is not begun on part of its things")
        can_start = not why and not waits
        holds_up[stage.key] = () if can_start else (stage.key,)
        found.append(Standing(stage.key, can_start, waits, tuple(why)))
    return tuple(found)


def before(after: Mapping[StepKey, Iterable[StepKey]], keys: Iterable[StepKey]) -> frozenset[StepKey]:
    """Every step that these wait for, and that those wait for in turn, without themselves unless they wait for one another.

    after  step → the steps it waits for
    """
    found: set[StepKey] = set()
    to_look = [one for key in keys for one in after.get(key, ())]
    while to_look:
        key = to_look.pop()
        if key not in found:
            found.add(key)
            to_look += after.get(key, ())
    return frozenset(found)


def prefix(standings: Iterable[Standing]) -> int:
    """How many steps can be worked from the first on, in order, before one that cannot begin."""
    count = 0
    for one in standings:
        if not one.can_start:
            break
        count += 1
    return count
