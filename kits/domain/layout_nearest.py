"""The row of sets that misses the limits least, where no layout keeps them. Pure, exact.

The miss of a row adds up over bores and pairs, so a chain that forgets that a set is there only once gives a bound from every
option to the last bore. The search over different sets goes bore by bore within that bound; sets are kept apart only once a best row
used one of them twice.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from itertools import accumulate, pairwise

from kits.domain.layout_chain import Row
from kits.domain.layout_options import Bore, LayoutTask, Option, Rules, facing, in_order, turned_heights, turns
from kits.domain.layout_search import Budget, sets_twice
from kits.domain.protrusion import HeightLimits, grained

#: What neighbours see of an option: left, right, mean.
Kind = tuple[int, int, int]
NOTHING = 1 << 200


def own_miss(heights_nm: Sequence[int], limits: HeightLimits) -> int:
    """What one liner is beyond the limits by itself: each point, and their spread."""
    low, high = grained(limits.low_nm), grained(limits.high_nm)
    beyond = sum(max(low - height, height - high, 0) for height in map(grained, heights_nm))
    return beyond + max(max(heights_nm) - min(heights_nm) - limits.within_nm, 0)


def every_option(task: LayoutTask, bore: Bore, ring_nm: int) -> list[Option]:
    """Every set, turn and shim in a bore whatever the limits say; of those that look alike to neighbours, the one that misses least."""
    faces, points = facing(task), task.points
    at_home = any(one.bore == bore.number for one in task.sets)
    found: dict[tuple[int, int, int, int], Option] = {}
    for at, one in enumerate(in_order(task)):
        if (one.bore is not None or at_home) and one.bore != bore.number:
            continue
        for turn in turns(task, one):
            raw = zip(turned_heights(one.heights_nm, turn), bore.depths_nm, strict=True)
            seated = [height - depth + ring_nm for height, depth in raw]
            for shim in bore.shims(task.limits):
                heights = [height + shim for height in seated]
                mean = sum(heights)
                left, right = (mean, mean) if faces is None else (heights[faces.before], heights[faces.after])
                option = Option(left, right, mean, points * own_miss(heights, task.limits), at, turn, shim)
                key = left, right, mean, at
                if key not in found or option.cost < found[key].cost:
                    found[key] = option
    return sorted(found.values())


class Nearest:
    """The row that misses least under one set of rules. `Option.cost` is the bore's own miss; all is counted times the points."""

    def __init__(self, task: LayoutTask, rules: Rules, budget: Budget) -> None:
        self.links, self.budget = rules.links, budget
        self.plain_steps = task.limits.facing_deg is None
        self.most = (task.limits.step_nm or 0) * (task.points if self.plain_steps else 1)
        self.times = 1 if self.plain_steps else task.points
        self.rows = [every_option(task, bore, rules.ring_nm) for bore in task.bores]
        self.found: tuple[int, Row] | None = None

    def between(self, one: Sequence[int], two: Sequence[int], link: int | None) -> int:
        """What a pair misses; each by its left, right and mean."""
        if link is None:
            return 0
        return max(abs(two[0] - one[1]) - self.most, 0) * self.times + max((one[2] - two[2]) * link, 0)

    def greedy(self) -> tuple[int, Row] | None:
        """A row to begin with: for each bore in turn, fewest choices first, the best of what is left."""
        used: set[int] = set()
        row: dict[int, Option] = {}
        for at in sorted(range(len(self.rows)), key=lambda at: len(self.rows[at])):
            left = [one for one in self.rows[at] if one.chosen not in used]
            if not left:
                return None
            row[at] = min(left, key=lambda one: (one.cost + self._with_placed(at, one, row), one))
            used.add(row[at].chosen)
        whole = tuple(row[at] for at in range(len(self.rows)))
        pairs = zip(pairwise(whole), self.links, strict=True)
        return sum(one.cost for one in whole) + sum(self.between(*pair, link) for pair, link in pairs), whole

    def _with_placed(self, at: int, one: Option, row: dict[int, Option]) -> int:
        before = self.between(row[at - 1], one, self.links[at - 1]) if at - 1 in row else 0
        return before + (self.between(one, row[at + 1], self.links[at]) if at + 1 in row else 0)

    def run(self, below: int | None) -> tuple[int, Row] | None:
        """The best row, if it misses by less than `below`."""
        greedy = self.greedy()
        if greedy is not None and (below is None or greedy[0] < below):
            self.found, below = greedy, greedy[0]
        if below is not None:
            spare = below - sum(min(one.cost for one in row) for row in self.rows)
            dearest = [min(one.cost for one in row) + spare for row in self.rows]
            self.rows = [[one for one in row if one.cost < most] for row, most in zip(self.rows, dearest, strict=True)]
            if not all(self.rows):
                return self.found
        self._bounds()
        apart, limit = 0, NOTHING if below is None else below
        while (wide := _Walk(self, apart, limit).run()) is not None:
            twice = sets_twice(wide[1])
            if not twice:
                self.found = wide
                break
            apart |= twice
        return self.found

    def _bounds(self) -> None:
        """For each kind of option at a bore: the least that the bores behind it miss, and its options, cheapest first."""
        self.kinds: list[list[tuple[Kind, int, list[Option]]]] = [[] for _ in self.rows]
        behind: list[tuple[int, int]] = []
        for at in range(len(self.rows) - 1, -1, -1):
            kinds: dict[Kind, list[Option]] = {}
            for one in sorted(self.rows[at], key=lambda one: (one.cost, one)):
                kinds.setdefault(one[:3], []).append(one)
            ordered = sorted(kinds, key=lambda kind: kind[1])
            if behind:
                link = self.links[at]
                # at facing points the stair is of other numbers than the step: the bound leaves it out
                stair = None if link is None else link if self.plain_steps else 0
                least = least_ways([kind[1] for kind in ordered], behind, stair, self.most, self.times)
            else:
                least = [0] * len(ordered)
            self.kinds[at] = [(kind, rest, kinds[kind]) for kind, rest in zip(ordered, least, strict=True)]
            behind = sorted((kind[0], rest + options[0].cost) for kind, rest, options in self.kinds[at])


def least_ways(
    rights: Sequence[int], behind: Sequence[tuple[int, int]], link: int | None, most: int, times: int
) -> list[int]:
    """For each number, in order: the least that a step from it to one of those behind, and the way on from there, miss.

    behind  (left, what the way on from there misses), in order
    link    1: a step down is missed as well, by as much; -1: a step up; None: no step is

    What a step misses is a line in each of four stretches (far below, below, above, far above). On a line, least is the least
    of (the way on ± left), so running and sliding minima do.
    """
    if link is None:
        return [min(rest for _, rest in behind)] * len(rights)
    lefts = [left for left, _ in behind]
    down, up = (1 if link > 0 else 0), (1 if link < 0 else 0)
    far_down = [rest - (times + down) * left for left, rest in behind]
    far_up = [rest + (times + up) * left for left, rest in behind]
    below = [NOTHING, *accumulate(far_down, min)]
    above = [NOTHING, *accumulate(reversed(far_up), min)][::-1]
    near_down = [rest - down * left for left, rest in behind]
    near_up = [rest + up * left for left, rest in behind]
    edges = _edges(lefts, [[right - most for right in rights], list(rights), [right + most + 1 for right in rights]])
    lower = sliding_least(near_down, list(zip(edges[0], edges[1], strict=True)))
    upper = sliding_least(near_up, list(zip(edges[1], edges[2], strict=True)))
    return [
        min(
            below[edges[0][at]] + (times + down) * right - times * most,
            lower[at] + down * right,
            upper[at] - up * right,
            above[edges[2][at]] - (times + up) * right - times * most,
        )
        for at, right in enumerate(rights)
    ]


def _edges(lefts: Sequence[int], marks: Sequence[Sequence[int]]) -> list[list[int]]:
    """For each row of rising marks, how many of the lefts are below each."""
    found = []
    for row in marks:
        at, counts = 0, []
        for mark in row:
            while at < len(lefts) and lefts[at] < mark:
                at += 1
            counts.append(at)
        found.append(counts)
    return found


def sliding_least(values: Sequence[int], spans: Sequence[tuple[int, int]]) -> list[int]:
    """The least value in each span (start, end without it); starts and ends never go back. NOTHING for an empty span."""
    found, taken = [], 0
    waiting: deque[int] = deque()
    for start, end in spans:
        while taken < end:
            while waiting and values[waiting[-1]] >= values[taken]:
                waiting.pop()
            waiting.append(taken)
            taken += 1
        while waiting and waiting[0] < start:
            waiting.popleft()
        found.append(values[waiting[0]] if waiting else NOTHING)
    return found


class _Walk:
    """One search, bore by bore, with these sets (bits) kept apart, for a row that misses by less than `limit`."""

    def __init__(self, nearest: Nearest, apart: int, limit: int) -> None:
        self.nearest, self.apart, self.limit = nearest, apart, limit
        self.seen: dict[tuple[int, Option, int], int] = {}
        self.found: tuple[int, Row] | None = None

    def run(self) -> tuple[int, Row] | None:
        """The best such row; it may use other sets twice."""
        self._down(0, (), 0, 0)
        return self.found

    def _ways(self, at: int, before: Option | None, allowed: int) -> list[tuple[int, int, Option]]:
        """Options of a bore by what they and the way on miss at least, below what is allowed."""
        nearest, found = self.nearest, []
        for kind, rest, options in nearest.kinds[at]:
            paid = nearest.between(before, kind, nearest.links[at - 1]) if before is not None else 0
            room = allowed - paid - rest
            for one in options:
                if one.cost >= room:
                    break
                found.append((one.cost + paid + rest, one.cost + paid, one))
        return sorted(found)

    def _down(self, at: int, row: Row, used: int, so_far: int) -> None:
        self.nearest.budget.spend(1)
        for bound, cost, one in self._ways(at, row[-1] if row else None, self.limit - so_far):
            if so_far + bound >= self.limit:
                break
            bit = self.apart & 1 << one.chosen
            place = at, one, used
            if used & bit or self.seen.get(place, self.limit) <= so_far + cost:
                continue
            self.seen[place] = so_far + cost
            if at + 1 == len(self.nearest.rows):
                self.limit = so_far + cost
                self.found = self.limit, (*row, one)
            else:
                self._down(at + 1, (*row, one), used | bit, so_far + cost)
