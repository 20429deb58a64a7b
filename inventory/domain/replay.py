"""All movements once more, in the order in which they happened: what stood where after the last of them. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

Levels = dict[tuple[int, int], int]


@dataclass(frozen=True, slots=True)
class Moved:
    """So much of an item went from a spot to a spot at a moment."""

    at: datetime
    item: int
    amount: int
    origin: int
    target: int


@dataclass(frozen=True, slots=True)
class Below:
    """A moment took something from a real spot, which then held less than nothing of the item."""

    at: datetime
    item: int
    spot: int
    level: int


def replay(moved: Iterable[Moved], real: frozenset[int]) -> tuple[Levels, list[Below]]:
    """(item, spot) → amount that is not nothing, and every moment that took a real spot to less than nothing.

    moved  in order; of one moment in any order, for only what stands after it counts. real: spots of real places
    """
    levels: Levels = defaultdict(int)
    below: list[Below] = []
    for at, rows in groupby(moved, key=lambda one: one.at):
        touched: dict[tuple[int, int], None] = {}
        for one in rows:
            levels[one.item, one.origin] -= one.amount
            levels[one.item, one.target] += one.amount
            touched[one.item, one.origin] = None
        below += [Below(at, *pair, levels[pair]) for pair in touched if pair[1] in real and levels[pair] < 0]
    return {pair: level for pair, level in levels.items() if level}, below


def differences(
    replayed: Mapping[tuple[int, int], int], balances: Mapping[tuple[int, int], int]
) -> list[tuple[int, int, int, int]]:
    """(item, spot, replayed, by the balances) wherever the two say different amounts, in order."""
    pairs = sorted(replayed.keys() | balances.keys())
    return [
        (*pair, replayed.get(pair, 0), balances.get(pair, 0))
        for pair in pairs
        if replayed.get(pair, 0) != balances.get(pair, 0)
    ]
