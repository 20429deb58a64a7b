"""Which steps can begin with what is here: a step whose own lines, and those of every step it waits for, are complete. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

#: An operation and a step of it.
StepKey = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Stage:
    """A step in order of work.

    after     steps it waits for
    lacking   part → how much of it is not here, whole base units; empty: everything is here
    bead      a sealant joint is made in it: it never begins on part of its things, a bead cannot wait
    out_until a piece that it needs is at an outside machinist until that day
    """

    key: StepKey
    after: tuple[StepKey, ...]
    lacking: Mapping[str, int]
    bead: bool = False
    out_until: date | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether a step can begin; if not, what it lacks itself and which steps it waits for."""

    key: StepKey
    can_start: bool
    waits_for: tuple[StepKey, ...]
    why: tuple[str, ...]


def startable(stages: Sequence[Stage]) -> tuple[Standing, ...]:
    """How each step stands, in the order given (a step never stands before one that it waits for).

    A step that another waits for, but that asks for nothing on this job, holds nobody up.
    """
    complete: dict[StepKey, bool] = {}
    found = []
    for stage in stages:
        waits = tuple(key for key in stage.after if not complete.get(key, True))
        why = [f"{part}: {amount} missing" for part, amount in stage.lacking.items()]
        if stage.out_until is not None:
            why.append(f"a piece is out until {stage.out_until.isoformat()}")
        if stage.bead and why:
            why.append("a bead cannot wait: the joint is not begun on part of its things")
        complete[stage.key] = not why and not waits
        found.append(Standing(stage.key, complete[stage.key], waits, tuple(why)))
    return tuple(found)


def prefix(standings: Iterable[Standing]) -> int:
    """How many steps can be worked from the first on, in order, before one that cannot begin."""
    count = 0
    for one in standings:
        if not one.can_start:
            break
        count += 1
    return count
