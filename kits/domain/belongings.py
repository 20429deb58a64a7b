"""Where the old parts of an engine went: new ones of the same lot lie beside them under one item, and are told apart by their way. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.domain.places import PlaceKind
from inventory.domain.stores import NOT_USED_AT


@dataclass(frozen=True, slots=True)
class Step:
    """One movement of an item, whole base units from a spot to a spot.

    enters  what all of it is from here on (the id of a find, say); None: what it was before
    back    an old part goes back into the engine
    never_in   it leaves an engine in which it never was
    """

    amount: int
    origin: int
    origin_kind: PlaceKind
    target: int
    target_kind: PlaceKind
    enters: int | None = None
    back: bool = False
    never_in: bool = False


@dataclass(frozen=True, slots=True)
class Lying:
    """So much of what entered as `of` is at the spot now; `reused` of it went back into the engine there."""

    of: int
    spot: int
    amount: int
    reused: int = 0


def follow(steps: Iterable[Step]) -> list[Lying]:
    """Where everything that entered is now, in order of what it is and spot. All that entered is somewhere, be it scrap.

    steps   every movement of one item, in order of time; none that was taken back
    To a shelf, a cart, the van, and newly into an engine go the others; anywhere else the old ones go first.
    """
    at: dict[int, dict[int, int]] = {}
    back: dict[tuple[int, int], int] = {}
    for step in steps:
        if step.never_in:
            _take(at.get(step.origin, {}), step.amount)
            continue
        old = step.back or step.enters is not None or step.origin_kind is PlaceKind.ENGINE
        moved: dict[int, int] = {}
        if old or step.target_kind not in NOT_USED_AT:
            moved = _take(at.get(step.origin, {}), step.amount)
        for of in moved:
            left = at[step.origin].get(of, 0)
            back[of, step.origin] = min(back.get((of, step.origin), 0), left)
        if step.enters is not None:
            moved = {step.enters: step.amount}
        there = at.setdefault(step.target, {})
        for of, amount in moved.items():
            there[of] = there.get(of, 0) + amount
            if step.back:
                back[of, step.target] = back.get((of, step.target), 0) + amount
    return sorted(
        (
            Lying(of, spot, amount, back.get((of, spot), 0))
            for spot, things in at.items()
            for of, amount in things.items()
            if amount
        ),
        key=lambda one: (one.of, one.spot),
    )


def _take(there: dict[int, int], amount: int) -> dict[int, int]:
    """Take up to this amount away, in order of what it is."""
    taken: dict[int, int] = {}
    for of in sorted(there):
        part = min(there[of], amount - sum(taken.values()))
        if part > 0:
            there[of] -= part
            taken[of] = part
    return taken
