"""Where no layout keeps the limits: how near the nearest comes, which rule breaks it where, and what would help. Pure, exact.

How far a layout misses is the sum, in nanometres, of what every point lies beyond the plain limits, what every liner's points
differ beyond theirs, what every step is beyond its limit, and what every pair of means goes against the stair. Piston weights
are left out of the sum: a layout that only they forbid is shown as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from kits.domain.layout_nearest import Nearest, every_option
from kits.domain.layout_options import Bore, LayoutTask, Option, Rules, every_rules, facing, options_of
from kits.domain.layout_placed import Placed, placed_of, point_said
from kits.domain.layout_search import Budget, OutOfNodes, Search
from kits.domain.protrusion import grained, microns

#: A node of this search takes as long as so many of the search for a layout.
DEARER = 100
MEASURE_AGAIN = "Measure again what is named, or try other sets from stock."


@dataclass(frozen=True, slots=True)
class Break:
    """One rule that is not kept. `bores`: the bore, or both neighbours; `point`: from 0, None for a whole liner or a pair."""

    rule: str
    bores: tuple[int, ...]
    point: int | None
    by_nm: Fraction
    text: str


@dataclass(frozen=True, slots=True)
class Miss:
    """The layout that comes nearest, and what breaks it.

    total_nm  the least sum of what is beyond the limits; 0 where only sets or weights are missing
    placed    the nearest layout, empty where there are too few sets
    help      what would help, sentences
    proved    none comes nearer
    """

    total_nm: Fraction
    breaks: tuple[Break, ...]
    placed: tuple[Placed, ...]
    ring_nm: int
    help: tuple[str, ...]
    proved: bool


def nearest_miss(task: LayoutTask, nodes: int) -> Miss:
    """The nearest miss of a task that has no layout."""
    homes = sum(one.bore is not None for one in task.sets)
    missing = len(task.bores) - len(task.sets)
    if missing > 0:
        text = f"{len(task.bores) - homes} bores are to be filled, {len(task.sets) - homes} sets are there."
        broken = Break("sets", tuple(bore.number for bore in task.bores), None, Fraction(0), text)
        return Miss(Fraction(0), (broken,), (), 0, (f"{missing} more sets are needed.",), True)
    budget = Budget(max(nodes // DEARER, 1))
    free = replace(task, piston_spread_mg=None)
    if task.piston_spread_mg is not None:
        try:
            found = Search(free, 0, budget).best()
        except OutOfNodes:
            found = budget.best
        if found is not None:
            return _too_far_apart(task, placed_of(task, found[1], found[2].ring_nm), found[2].ring_nm)
    best: tuple[int, Sequence[Option], Rules] | None = None
    proved = True
    for rules in every_rules(free):
        nearest = Nearest(free, rules, budget)
        try:
            got = nearest.run(None if best is None else best[0])
        except OutOfNodes:
            got, proved = nearest.found or nearest.greedy(), False
        if got is not None and (best is None or got[0] < best[0]):
            best = got[0], got[1], rules
    if best is None:
        raise AssertionError("every task with enough sets has a nearest layout")
    total, row, rules = best
    placed = placed_of(task, row, rules.ring_nm)
    helps = (*_helps(free), MEASURE_AGAIN)
    return Miss(Fraction(total, task.points), breaks(task, placed, rules), placed, rules.ring_nm, helps, proved)


def _too_far_apart(task: LayoutTask, placed: tuple[Placed, ...], ring_nm: int) -> Miss:
    weights = {one.serial: one.piston_mg or 0 for one in task.sets}
    chosen = sorted((weights[one.serial], one.serial) for one in placed)
    apart = Fraction(chosen[-1][0] - chosen[0][0], 1000)
    text = (
        f"The pistons of sets {chosen[0][1]} and {chosen[-1][1]} differ by {float(apart):g} g, "
        f"at most {float(Fraction(task.piston_spread_mg or 0, 1000)):g} g."
    )
    broken = Break("piston weight", tuple(one.bore for one in placed), None, Fraction(0), text)
    return Miss(Fraction(0), (broken,), placed, ring_nm, ("Other sets of one weight group.",), True)


def breaks(task: LayoutTask, placed: Sequence[Placed], rules: Rules) -> tuple[Break, ...]:
    """Every rule that a layout does not keep, bore by bore, then pair by pair."""
    limits, found = task.limits, list[Break]()
    for one in placed:
        for point, height in enumerate(one.heights_nm):
            beyond = max(grained(limits.low_nm) - grained(height), grained(height) - grained(limits.high_nm))
            if beyond > 0:
                way = "low" if height < limits.low_nm else "high"
                text = (
                    f"bore {one.bore}, {point_said(point, task.points)}: {microns(height)}, {microns(beyond)} too {way}"
                )
                found.append(Break(f"too {way}", (one.bore,), point, Fraction(beyond), text))
        spread = max(one.heights_nm) - min(one.heights_nm)
        if spread > limits.within_nm:
            text = f"bore {one.bore}: the points differ by {microns(spread)}, at most {microns(limits.within_nm)}"
            found.append(Break("within one liner", (one.bore,), None, Fraction(spread - limits.within_nm), text))
    faces = facing(task)
    for (one, two), link in zip(pairwise(placed), rules.links, strict=True):
        if link is None or limits.step_nm is None:
            continue
        rise = two.mean_nm - one.mean_nm
        step = abs(rise) if faces is None else Fraction(abs(two.heights_nm[faces.before] - one.heights_nm[faces.after]))
        pair = (one.bore, two.bore)
        if step > limits.step_nm:
            text = f"bores {one.bore} and {two.bore}: a step of {microns(step)}, at most {microns(limits.step_nm)}"
            found.append(Break("step", pair, None, step - limits.step_nm, text))
        if rise * link < 0:
            text = f"bores {one.bore} and {two.bore}: {microns(abs(rise))} against the way of the stair"
            found.append(Break("staircase", pair, None, abs(rise), text))
    return tuple(found)


def _helps(task: LayoutTask) -> list[str]:
    """What would help, as far as single bores say it."""
    rings = tuple(sorted(task.limits.rings_nm)) or (0,)
    by_ring = {ring: [bool(row) for row in options_of(task, 0, ring)] for ring in rings}
    said = []
    for at, bore in enumerate(task.bores):
        if not any(row[at] for row in by_ring.values()):
            said.append(_help_bore(task, bore, rings))
    if not said and len(rings) > 1 and not any(all(row) for row in by_ring.values()):
        kinds = [
            f"bore {bore.number}: {' or '.join(microns(ring) for ring in rings if by_ring[ring][at])}"
            for at, bore in enumerate(task.bores)
        ]
        said.append(f"No one kind of base ring suits all bores ({', '.join(kinds)}): cut every ledge alike.")
    return said


def _help_bore(task: LayoutTask, bore: Bore, rings: Sequence[int]) -> str:
    """A bore that no set suits by itself: how far off the nearest is."""
    options = [one for ring in rings for one in every_option(task, bore, ring)]
    if not options:
        return f"Bore {bore.number}: no set is left that may stand there."
    nearest = min(options, key=lambda one: (one.cost, one))
    text = f"Bore {bore.number}: no set suits it by itself"
    if nearest.mean > task.points * task.limits.target:
        return f"{text}, the nearest stands too high: have its seat cut deeper, as the maker allows."
    return f"{text}, the nearest stands too low or too crooked: a higher liner, or what the maker allows under it."
