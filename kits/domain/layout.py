"""Which set goes to which bore, turned which way, on which shim. Pure, exact; a brute-force twin in the tests.

Chosen is the layout with the fewest shims, then the least largest step, then the least sum of distances from the target, then
the fewest turned sets, then the first serial numbers, turns and shims from bore 1 on. First with the limits narrowed by the
gauge's allowance; if nothing is left, with the plain limits, and then the layout is doubtful and says where. The allowance
narrows only the limits of the height, not those of one liner's spread or of the step.

Banks that share one shelf are solved together, exactly: no step is taken from one head to the next, but no set stands in two of
them, the piston weights are those of the whole engine, and the largest step is the largest of all heads. A staircase may rise in
one head and fall in the other. Base rings are all of one kind; every kind is tried.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from kits.domain.layout_chain import Row, largest_step
from kits.domain.layout_miss import Miss, nearest_miss
from kits.domain.layout_options import LayoutTask, Rules
from kits.domain.layout_placed import Placed, placed_of, points_said
from kits.domain.layout_search import Budget, OutOfNodes, Search
from kits.domain.limits import Verdict
from kits.domain.protrusion import POOR_GAUGE, doubts, good_enough, verdict

#: About ten seconds at worst; what the shelves of a shop ask for takes some thousand.
NODES = 2_000_000


@dataclass(frozen=True, slots=True)
class Layout:
    """A layout that keeps the limits.

    ring_nm          base ring under every liner, 0 for none
    steps_nm         between each bore and the next, after less before; None where they are no neighbours
    largest_step_nm  of them, without sign; 0 where nobody has a neighbour
    off_target_nm    sum of the distances of the means from the target
    certain          every point passes with the gauge's allowance and nothing else is in doubt
    doubtful         (bore, point from 0) that only passes without the allowance
    why              why it is not certain, sentences
    proved           no better one exists; False: the search ran out of nodes, this is the best that was met
    nodes            how much was looked at
    """

    placed: tuple[Placed, ...]
    ring_nm: int
    steps_nm: tuple[Fraction | None, ...]
    largest_step_nm: Fraction
    off_target_nm: Fraction
    certain: bool
    doubtful: tuple[tuple[int, int], ...]
    why: tuple[str, ...]
    proved: bool
    nodes: int

    @property
    def shims(self) -> int:
        """How many."""
        return sum(one.shim_nm > 0 for one in self.placed)

    @property
    def turned(self) -> int:
        """How many sets are turned."""
        return sum(one.turn_deg > 0 for one in self.placed)


@dataclass(frozen=True, slots=True)
class NoLayout:
    """Nothing keeps the limits: how near the nearest comes and what breaks it. `proved`: that nothing does; False: unknown."""

    miss: Miss | None
    proved: bool
    nodes: int


def lay_out(task: LayoutTask, nodes: int = NODES) -> Layout | NoLayout:
    """The best layout of a task, or why there is none. Node limits, not time: the same answer on every machine."""
    looked_at, proved = 0, True
    # where nothing can pass with the allowance, only the plain limits are left
    allowances = (task.gauge_nm, 0) if task.gauge_nm and good_enough(task.limits, task.gauge_nm) else (0,)
    for gauge_nm in allowances:
        budget = Budget(nodes)
        try:
            found = Search(task, gauge_nm, budget).best()
        except OutOfNodes:
            found, proved = budget.best, False
        looked_at += nodes - max(budget.left, 0)
        if found is not None:
            return described(task, found[1], found[2], proved, looked_at)
    return NoLayout(nearest_miss(task, nodes) if proved else None, proved, looked_at)


def described(task: LayoutTask, row: Row, rules: Rules, proved: bool, nodes: int) -> Layout:
    """A row of options in full."""
    placed = placed_of(task, row, rules.ring_nm)
    unit = 1 if task.limits.facing_deg is not None else task.points
    doubtful = tuple(
        (one.bore, point)
        for one in placed
        for point, height in enumerate(one.heights_nm)
        if verdict(height, task.limits, task.gauge_nm) is not Verdict.PASS
    )
    why = [*doubts(task.points, task.temperature_missing)]
    if not good_enough(task.limits, task.gauge_nm):
        why.append(POOR_GAUGE)
    elif doubtful:
        why.append(f"Doubtful at {points_said(doubtful, task.points)}: measure again, or try another set from stock.")
    return Layout(
        placed=placed,
        ring_nm=rules.ring_nm,
        steps_nm=tuple(
            None if link is None else Fraction(after.left - before.right, unit)
            for (before, after), link in zip(pairwise(row), rules.links, strict=True)
        ),
        largest_step_nm=Fraction(largest_step(row, rules.links), unit),
        off_target_nm=sum((abs(one.mean_nm - task.limits.target) for one in placed), Fraction(0)),
        certain=not why,
        doubtful=doubtful,
        why=tuple(why),
        proved=proved,
        nodes=nodes,
    )
