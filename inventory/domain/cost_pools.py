"""A pool of one kind of thing with what it cost: taken by moving average or first in first out, in whole coins. Pure.

A layer of n for T coins gives its i-th up to k-th for floor(T·k/n) - floor(T·i/n): in one piece or one by one, it comes to the same, and
the last one takes what is left.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import Any


class Method(StrEnum):
    """How the cost of what is not told apart is taken."""

    AVERAGE = "moving average"
    FIRST_IN = "first in first out"


@dataclass(frozen=True, slots=True)
class Taken:
    """So many with a cost, for so many coins, and so many without: (line of the delivery or None, amount). `line`: whose the costed are."""

    coins: int = 0
    costed: int = 0
    unknown: tuple[tuple[int | None, int], ...] = ()
    line: int | None = None


@dataclass(slots=True)
class _Layer:
    line: int | None
    size: int
    total: int
    gone: int = 0

    @property
    def left(self) -> int:
        return self.size - self.gone

    @property
    def coins(self) -> int:
        return self.total - self.total * self.gone // self.size

    def take(self, amount: int) -> int:
        before = self.total * self.gone // self.size
        self.gone += amount
        return self.total * self.gone // self.size - before


@dataclass(slots=True)
class Pool:
    """What there is, oldest first. `owed`: more was taken than there was, so the next that come are gone already."""

    method: Method
    owed: int = 0
    _layers: deque[_Layer] = field(default_factory=deque)
    _unknown: deque[list[int | None]] = field(default_factory=deque)

    @property
    def empty(self) -> bool:
        """Nothing is in it and nothing is owed: it is as good as a new one."""
        return not (self._layers or self._unknown or self.owed)

    @property
    def costed(self) -> int:
        """How many have a cost."""
        return sum(layer.left for layer in self._layers)

    @property
    def unknown(self) -> int:
        """How many are in suspense."""
        return sum(amount or 0 for _, amount in self._unknown)

    @property
    def amount(self) -> int:
        """How many there are."""
        return self.costed + self.unknown

    @property
    def coins(self) -> int:
        """What they cost."""
        return sum(layer.coins for layer in self._layers)

    @property
    def each(self) -> Fraction | None:
        """Coins for one of those that have a cost, exact; None for none."""
        return Fraction(self.coins, self.costed) if self.costed else None

    def packed(self) -> list[Any]:
        """All of it in plain values, to be kept: what is owed, the layers, those in suspense."""
        layers = [[layer.line, layer.size, layer.total, layer.gone] for layer in self._layers]
        return [self.owed, layers, [list(one) for one in self._unknown]]

    @classmethod
    def unpacked(cls, method: Method, kept: Sequence[Any]) -> Pool:
        """The pool that was `packed`."""
        owed, layers, unknown = kept
        return cls(method, owed, deque(_Layer(*one) for one in layers), deque(list(one) for one in unknown))

    def put(self, taken: Taken, *, back: bool = False) -> int:
        """Lay in; `back`: what was taken before comes back, and is the oldest again. The coins of what was owed."""
        costed, coins, lost = taken.costed, taken.coins, 0
        if self.owed and costed:
            owed = min(self.owed, costed)
            lost = coins * owed // costed
            self.owed, costed, coins = self.owed - owed, costed - owed, coins - lost
        if costed:
            self._lay(_Layer(taken.line, costed, coins), back)
        for line, amount in taken.unknown:
            owed = min(self.owed, amount)
            self.owed -= owed
            if amount > owed:
                self._unknown.append([line, amount - owed])
        return lost

    def _lay(self, layer: _Layer, back: bool) -> None:
        if self.method is Method.AVERAGE and self._layers:
            old = self._layers.pop()
            layer = _Layer(None, old.left + layer.left, old.coins + layer.coins)
        if back:
            self._layers.appendleft(layer)
        else:
            self._layers.append(layer)

    def take(self, amount: int) -> Taken:
        """The oldest that have a cost, then those in suspense; what is not there is in suspense too, and owed."""
        coins = costed = 0
        while self._layers and costed < amount:
            layer = self._layers[0]
            part = min(layer.left, amount - costed)
            coins += layer.take(part)
            costed += part
            if not layer.left:
                self._layers.popleft()
        rest, unknown = amount - costed, []
        while self._unknown and rest:
            first = self._unknown[0]
            part = min(first[1] or 0, rest)
            unknown.append((first[0], part))
            first[1] = (first[1] or 0) - part
            rest -= part
            if not first[1]:
                self._unknown.popleft()
        if rest:
            self.owed += rest
            unknown.append((None, rest))
        return Taken(coins, costed, tuple(unknown))

    def charge(self, line: int, received: int, more: int) -> int:
        """So many coins more (or fewer) for a delivery of so many: the share of those of it that are here, which they cost from now on.

        By average nobody can say whose those are that are here: as many as were delivered, if so many are left. Coins never fall
        below nothing. The share that was laid on.
        """
        waiting = sum(amount or 0 for its, amount in self._unknown if its == line)
        if waiting:
            share = more * waiting // received
            self._unknown = deque(one for one in self._unknown if one[0] != line)
            self._lay(_Layer(line, waiting, share), back=False)
            return share
        laid = 0
        for at, layer in enumerate(self._layers):
            if self.method is Method.FIRST_IN and layer.line != line:
                continue
            share = max(more * min(layer.left, received) // received, -layer.coins)
            self._layers[at] = _Layer(layer.line, layer.left, layer.coins + share)
            laid += share
        return laid
