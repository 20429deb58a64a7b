"""Use positions as they are written on paper: runs of numbers drawn together."""

from __future__ import annotations

import re
from collections.abc import Sequence

_NUMBER = re.compile(r"\d+")


def spans(positions: Sequence[str]) -> list[str]:
    """Positions in their order, with three or more neighbours that differ in one number alone and count up by one drawn together.

    "BANK/bolt-01", "BANK/bolt-02", "BANK/bolt-03" become "BANK/bolt-01 to 03"; nothing is left out and nothing is sorted.
    """
    found: list[str] = []
    at = 0
    while at < len(positions):
        run, last = 1, ""
        while at + run < len(positions):
            number = _one_up(positions[at + run - 1], positions[at + run], positions[at])
            if number is None:
                break
            run, last = run + 1, number
        if run >= 3:
            found.append(f"{positions[at]} to {last}")
        else:
            found.extend(positions[at : at + run])
        at += run
    return found


def _one_up(before: str, after: str, first: str) -> str | None:
    """The number of `after` where it is `before` with one number one higher, the same one that has changed since `first`."""
    place, number = _differs(before, after)
    if number is None or (first != before and _differs(first, before)[0] != place):
        return None
    return number


def _differs(one: str, other: str) -> tuple[int, str | None]:
    """(which number differs, the other's digits) where the texts differ in one number alone, and there by any amount above none.

    (-1, None) where they differ otherwise. For neighbours the caller needs a step of one, so that is asked of the pair itself.
    """
    mine, theirs = _NUMBER.findall(one), _NUMBER.findall(other)
    if _NUMBER.sub("#", one) != _NUMBER.sub("#", other):
        return -1, None
    places = [at for at, (left, right) in enumerate(zip(mine, theirs, strict=True)) if left != right]
    if len(places) != 1:
        return -1, None
    at = places[0]
    step = int(theirs[at]) - int(mine[at])
    return at, theirs[at] if step == 1 else None
