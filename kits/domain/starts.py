"""The earliest day of each step: the latest of its parts, of the steps it waits for, and of the pieces that are due back. Pure.

Nothing here knows how long a step takes: steps that wait for one another may be on one day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from kits.domain.startable import StepKey


@dataclass(frozen=True, slots=True)
class Awaited:
    """Something that a step needs and that is not in the shop.

    what    in words
    day     the first day on which it can be here; None: nobody knows
    due     it was promised for that day: once that is past it is overdue, and not here before the day asked about
    """

    what: str
    day: date | None
    due: bool = False

    def overdue(self, on: date) -> bool:
        """Whether it was promised for a day before this one."""
        return self.due and self.day is not None and self.day < on


@dataclass(frozen=True, slots=True)
class Work:
    """A step: which steps it waits for, and what it needs that is not in the shop."""

    key: StepKey
    after: tuple[StepKey, ...] = ()
    awaited: tuple[Awaited, ...] = ()


@dataclass(frozen=True, slots=True)
class Start:
    """The first day on which a step can begin (None: not known) and why; `overdue`: what should have been here already."""

    key: StepKey
    day: date | None
    because: tuple[str, ...]
    overdue: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Bound:
    """A step begins no earlier than this day (None: not known), and why; `late`: something overdue stands behind it."""

    day: date | None
    why: str
    late: tuple[str, ...] = ()


def starts(works: Sequence[Work], on: date) -> tuple[Start, ...]:
    """When each step can begin as seen on a day, in the order given (a step never stands before one that it waits for).

    `because` names what decides the day: everything whose day it is, or all of which no day is known.
    """
    found: dict[StepKey, Start] = {}
    for work in works:
        bounds = [_bound(one, on) for one in work.awaited]
        for key in work.after:
            if (before := found.get(key)) is not None:
                bounds.append(_Bound(before.day, f"after {key[0]}/{key[1]}", before.overdue))
        found[work.key] = _start(work.key, bounds, on)
    return tuple(found.values())


def _bound(one: Awaited, on: date) -> _Bound:
    if one.day is None:
        return _Bound(None, f"{one.what}: no day is known")
    if one.overdue(on):
        return _Bound(on, f"{one.what}: due {one.day}, overdue, not before {on}", (one.what,))
    return _Bound(max(one.day, on), f"{one.what}: {'due' if one.due else 'here'} {one.day}")


def _start(key: StepKey, bounds: Sequence[_Bound], on: date) -> Start:
    late = tuple(dict.fromkeys(what for one in bounds for what in one.late))
    unknown = tuple(one.why for one in bounds if one.day is None)
    if unknown:
        return Start(key, None, unknown, late)
    day = max([on, *(one.day for one in bounds if one.day is not None)])
    return Start(key, day, tuple(one.why for one in bounds if one.day == day and (day > on or one.late)), late)
