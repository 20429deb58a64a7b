"""The options of an engine as a chain, bore after bore: who may follow whom, and what the way on costs at least. Pure.

A chain forgets that a set is there only once; so it can be solved from the last bore back, and what it says bounds what
`layout_search` may find.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import gcd

from kits.domain.layout_options import Option, Rules

Row = tuple[Option, ...]


def step_of(before: Option, after: Option) -> int:
    """Between neighbours, as it is compared: a difference of sums, or of heights at facing points."""
    return abs(before.right - after.left)


def largest_step(row: Sequence[Option], links: Sequence[int | None]) -> int:
    """Of a whole row; 0 where nobody has a neighbour."""
    return max((step_of(*pair) for pair, link in zip(pairwise(row), links, strict=True) if link is not None), default=0)


def grain_of(options: Sequence[Sequence[Option]]) -> int:
    """What every step is a whole multiple of."""
    values = {value for row in options for one in row for value in (one.left, one.right)}
    base = min(values, default=0)
    return gcd(*(value - base for value in values)) or 1


class Chain:
    """The options of every bore under one set of rules. `fewest` shims are needed whatever the neighbours ask."""

    def __init__(self, options: Sequence[Sequence[Option]], rules: Rules, plain_steps: bool) -> None:
        self.rules, self.links, self.plain_steps = rules, rules.links, plain_steps
        wanted = rules.sets
        self.options = [
            [one for one in row if wanted is None or one.chosen in wanted] if wanted is not None else list(row)
            for row in options
        ]
        self.empty = not all(self.options)
        self.least = [0 if self.empty else min(one.shim_nm > 0 for one in row) for row in self.options]
        self.fewest = sum(self.least)
        self._alive: dict[int, list[list[Option]]] = {}
        self._means: dict[bool, list[list[int]]] = {}

    def alive(self, spare: int) -> list[list[Option]]:
        """The options that at most `spare` more shims than needed leave."""
        if spare not in self._alive:
            self._alive[spare] = [
                row if spare else [one for one in row if (one.shim_nm > 0) == least]
                for row, least in zip(self.options, self.least, strict=True)
            ]
        return self._alive[spare]

    def after(self, one: Option, link: int, step: int, lefts: Sequence[int]) -> tuple[int, int]:
        """Where in the next bore's options, by `left`, those stand that a step may reach."""
        low = one.right - (step if link <= 0 or not self.plain_steps else 0)
        high = one.right + (step if link >= 0 or not self.plain_steps else 0)
        return bisect_left(lefts, low), bisect_right(lefts, high)

    def rises(self, link: int) -> bool:
        """Whether the stair asks for more than the step does: the step is at facing points, the stair is of means."""
        return link != 0 and not self.plain_steps

    def linked(self, step: int, spare: int) -> bool:
        """Whether a row exists within the step, if one set could stand in several bores."""
        if self.empty:
            return False
        # with a shim to spare for every bore nobody need count them
        free = self.fewest + spare >= len(self.options)
        if self.plain_steps and (free or not spare):
            return self._linked_means(step, free)
        rows = self.alive(spare)
        kept = 0 if free else spare
        layers = self._layers(rows[-1], self.least[-1], kept) if kept else [rows[-1]]
        for at in range(len(rows) - 2, -1, -1):
            if free:
                layers = [self._reaching(rows[at], layers[0], self.links[at], step)]
            else:
                layers = self._before(rows[at], self.least[at], layers, self.links[at], step, kept)
            if not layers[kept]:
                return False
        return bool(layers[kept])

    def _linked_means(self, step: int, free: bool) -> bool:
        """The same where neighbours see one number of each other and shims are not counted, or none may be added: quicker."""
        if free not in self._means:
            rows = self.options if free else self.alive(0)
            self._means[free] = [sorted({one.mean for one in row}) for row in rows]
        means = self._means[free]
        behind = means[-1]
        for row, link in zip(means[-2::-1], self.links[::-1], strict=True):
            if link is None:
                behind = row
                continue
            down, up, count = (step if link <= 0 else 0), (step if link >= 0 else 0), len(behind)
            reached = []
            for mean in row:
                at = bisect_left(behind, mean - down)
                if at < count and behind[at] <= mean + up:
                    reached.append(mean)
            behind = reached
            if not behind:
                return False
        return True

    def _reaching(self, row: Sequence[Option], behind: Sequence[Option], link: int | None, step: int) -> list[Option]:
        """Options of a bore that somebody may follow."""
        lefts = [two.left for two in behind]
        return [one for one in row if self._reaches(one, behind, lefts, link, step)]

    def _layers(self, row: Sequence[Option], least: int, spare: int) -> list[list[Option]]:
        return [[one for one in row if (one.shim_nm > 0) - least <= more] for more in range(spare + 1)]

    def _before(
        self, row: Sequence[Option], least: int, layers: list[list[Option]], link: int | None, step: int, spare: int
    ) -> list[list[Option]]:
        """Options of a bore from which the bores behind it can be filled with at most 0, 1, ... `spare` further shims."""
        lefts = [[one.left for one in layer] for layer in layers]
        found: list[list[Option]] = [[] for _ in range(spare + 1)]
        known: dict[tuple[int, int], bool] = {}
        for one in row:
            extra = (one.shim_nm > 0) - least
            for more in range(extra, spare + 1):
                place = one.right, more - extra
                if place not in known or (link is not None and self.rises(link)):
                    known[place] = self._reaches(one, layers[more - extra], lefts[more - extra], link, step)
                if known[place]:
                    for enough in range(more, spare + 1):
                        found[enough].append(one)
                    break
        return found

    def _reaches(
        self, one: Option, behind: Sequence[Option], lefts: Sequence[int], link: int | None, step: int
    ) -> bool:
        if link is None:
            return bool(behind)
        start, end = self.after(one, link, step, lefts)
        if not self.rises(link):
            return start < end
        return any((two.mean - one.mean) * link >= 0 for two in behind[start:end])


@dataclass(slots=True)
class Graph:
    """A chain within a limit of the step: who may follow whom, and bounds from each option to the last bore.

    follow   for each bore and option, the options of the next bore, cheapest way on first
    least    least cost from the option to the end, if one set could stand in several bores
    wanted   sets that some bore behind could use, as bits
    """

    chain: Chain
    step: int
    spare: int
    rows: list[list[Option]] = field(init=False)
    follow: list[list[list[int]]] = field(init=False)
    least: list[list[int]] = field(init=False)
    wanted: list[list[int]] = field(init=False)
    first: list[int] = field(init=False)

    def __post_init__(self) -> None:
        rows = [list(row) for row in self.chain.alive(self.spare)]
        count = len(rows)
        self.follow = [[] for _ in rows]
        self.least, self.wanted = [[] for _ in rows], [[] for _ in rows]
        self.least[-1] = [one.cost for one in rows[-1]]
        self.wanted[-1] = [0] * len(rows[-1])
        for at in range(count - 2, -1, -1):
            rows[at] = self._link(at, rows[at], rows[at + 1])
        self.rows = rows
        self.first = sorted(range(len(rows[0])), key=self.least[0].__getitem__)

    def _link(self, at: int, row: Sequence[Option], behind: Sequence[Option]) -> list[Option]:
        """Keep what has somebody to follow, and note who, how dear the way on is at least, and which sets it may use."""
        link, chain = self.chain.links[at], self.chain
        lefts = [two.left for two in behind]
        costs, bits = self.least[at + 1], [1 << two.chosen for two in behind]
        reach = [bit | more for bit, more in zip(bits, self.wanted[at + 1], strict=True)]
        known: dict[tuple[int, int], tuple[list[int], int, int]] = {}
        kept = []
        for one in row:
            start, end = (0, len(behind)) if link is None else chain.after(one, link, self.step, lefts)
            if start >= end:
                continue
            apart = link is not None and chain.rises(link)
            if apart or (start, end) not in known:
                those: Iterable[int] = range(start, end)
                if apart and link is not None:
                    those = [two for two in those if (behind[two].mean - one.mean) * link >= 0]
                follow = sorted(those, key=costs.__getitem__)
                if not follow:
                    continue
                union = 0
                for two in follow:
                    union |= reach[two]
                known[start, end] = follow, costs[follow[0]], union
            follow, cheapest, union = known[start, end]
            kept.append(one)
            self.follow[at].append(follow)
            self.least[at].append(one.cost + cheapest)
            self.wanted[at].append(union)
        return kept

    def near(self, cost: int) -> list[set[int]]:
        """For each bore, the options through which a way costs no more than that, if one set could stand in several bores."""
        ahead: list[dict[int, int]] = [{at: one.cost for at, one in enumerate(self.rows[0])}]
        for at in range(len(self.rows) - 1):
            found: dict[int, int] = {}
            for one, so_far in ahead[-1].items():
                if so_far - self.rows[at][one].cost + self.least[at][one] > cost:
                    continue
                for two in self.follow[at][one]:
                    if so_far + self.least[at + 1][two] > cost:
                        break
                    sum_to = so_far + self.rows[at + 1][two].cost
                    if sum_to < found.get(two, sum_to + 1):
                        found[two] = sum_to
            ahead.append(found)
        return [
            {one for one, so_far in row.items() if so_far - self.rows[at][one].cost + self.least[at][one] <= cost}
            for at, row in enumerate(ahead)
        ]
