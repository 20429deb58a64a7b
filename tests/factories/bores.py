"""Bores, sets and limits for the layout: the readings of a worked example, random small ones, and a twin by brute force.

The readings and every number quoted of them are the worked example of the demo shop, recomputed here by brute force.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from fractions import Fraction
from itertools import permutations, product
from math import perm
from typing import Any

from kits.domain.layout_options import Bore, LayoutTask, LinerSet
from kits.domain.protrusion import HeightLimits

UM = 1_000
#: Micrometres above 92.900 mm at 12, 3, 6 and 9 o'clock.
SETS_UM = {
    1: (131, 141, 135, 125),
    2: (136, 142, 146, 140),
    3: (121, 118, 119, 122),
    4: (117, 124, 121, 114),
    5: (123, 126, 129, 123),
}
BORES_UM = {1: (60, 67, 64, 57), 2: (39, 42, 43, 40), 3: (59, 66, 67, 60), 4: (49, 55, 45, 39)}
#: Grams, pistons with pin.
PISTONS_G = {1: 416, 2: 415, 3: 417, 4: 418, 5: 414}


def um(values: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(UM * value for value in values)


def worked(
    sets: tuple[int, ...] = (1, 2, 3, 4), *, gauge_um: int = 0, spread_g: int | None = None, **limits: Any
) -> LayoutTask:
    """The worked example: four bores under one head, 50 to 120, 30 within a liner, 40 between neighbours, turned 0° or 180°."""
    asked = {
        "low_nm": 50 * UM,
        "high_nm": 120 * UM,
        "within_nm": 30 * UM,
        "step_nm": 40 * UM,
        "turns_deg": (0, 180),
    } | limits
    return LayoutTask(
        tuple(Bore(number, um(depths)) for number, depths in BORES_UM.items()),
        tuple(LinerSet(f"S-044{number}", um(SETS_UM[number]), PISTONS_G[number] * 1000) for number in sets),
        HeightLimits(**asked),
        gauge_um * UM,
        None if spread_g is None else spread_g * 1000,
    )


#: Everything that orders two layouts: shims, largest step, distance from the target, turned, serials, turns, shim sizes, ring.
Key = tuple[int, Fraction, Fraction, int, tuple[str, ...], tuple[int, ...], tuple[int, ...], int]


#: Turn in clock steps, shim, and the heights that they give.
Way = tuple[int, int, list[int]]


def every_layout(task: LayoutTask, gauge_nm: int) -> Iterator[Key]:
    """Every layout that keeps the limits less the allowance, by trying all: sets, turns, shims, rings. No code of the program but
    the values is used."""
    for ring in task.limits.rings_nm or (0,):
        for sets in permutations(task.sets, len(task.bores)):
            if not _at_home(task, sets) or not _weigh_alike(task, sets):
                continue
            ways = [
                [way for way in _ways(task, one, bore, ring) if _inside(way[2], task.limits, gauge_nm)]
                for one, bore in zip(sets, task.bores, strict=True)
            ]
            for row in product(*ways):
                key = _key(task, sets, row, ring)
                if key is not None:
                    yield key


def least_miss(task: LayoutTask) -> Fraction:
    """How far the nearest layout is beyond the plain limits, whatever the pistons weigh, by trying all."""
    return min(
        _miss(task, row)
        for ring in task.limits.rings_nm or (0,)
        for sets in permutations(task.sets, len(task.bores))
        if _at_home(task, sets)
        for row in product(*(_ways(task, one, bore, ring) for one, bore in zip(sets, task.bores, strict=True)))
    )


def choices(task: LayoutTask) -> int:
    """How many layouts `least_miss` tries at most."""
    ways = len(_ways(task, task.sets[0], task.bores[0], 0)) if task.sets[0].bore is None else 4
    return perm(len(task.sets), len(task.bores)) * ways ** len(task.bores) * max(len(task.limits.rings_nm), 1)


def _at_home(task: LayoutTask, sets: tuple[LinerSet, ...]) -> bool:
    at = {bore.number: one for bore, one in zip(task.bores, sets, strict=True)}
    return all(one.bore is None or at[one.bore] is one for one in task.sets)


def _weigh_alike(task: LayoutTask, sets: tuple[LinerSet, ...]) -> bool:
    weights = [one.piston_mg or 0 for one in sets]
    return task.piston_spread_mg is None or max(weights) - min(weights) <= task.piston_spread_mg


def _ways(task: LayoutTask, one: LinerSet, bore: Bore, ring: int) -> list[Way]:
    points, allowed = len(bore.depths_nm), task.limits.turns_deg
    turns = range(points) if allowed is None else [angle * points // 360 for angle in allowed]
    return [
        (turn, shim, [one.heights_nm[(at - turn) % points] - bore.depths_nm[at] + shim + ring for at in range(points)])
        for turn in ([angle * points // 360 for angle in one.turns_deg] if one.bore else turns)
        for shim in (0, *task.limits.shims_nm)
    ]


def _inside(heights: list[int], limits: HeightLimits, gauge_nm: int) -> bool:
    """Only for readings in tenths of a micrometre and coarser: nothing is rounded here."""
    low, high = limits.low_nm + gauge_nm, limits.high_nm - gauge_nm
    return low <= min(heights) and max(heights) <= high and max(heights) - min(heights) <= limits.within_nm


def _between(task: LayoutTask, row: tuple[Way, ...]) -> tuple[list[int], dict[str, list[int]]]:
    """Steps between neighbours without sign, and for each head the rises of its means, all times the points."""
    limits, points = task.limits, task.points
    means = [sum(heights) for _, _, heights in row]
    steps, stairs = list[int](), dict[str, list[int]]()
    for at in range(1, len(row)):
        if limits.step_nm is None or task.bores[at - 1].head != task.bores[at].head:
            continue
        stairs.setdefault(task.bores[at].head, []).append(means[at] - means[at - 1])
        if limits.facing_deg is None:
            steps.append(abs(means[at] - means[at - 1]))
        else:
            after, before = (angle * points // 360 for angle in limits.facing_deg)
            steps.append(points * abs(row[at][2][before] - row[at - 1][2][after]))
    return steps, stairs


def _miss(task: LayoutTask, row: tuple[Way, ...]) -> Fraction:
    limits, points, total = task.limits, task.points, 0
    for _, _, heights in row:
        total += points * sum(max(limits.low_nm - height, height - limits.high_nm, 0) for height in heights)
        total += points * max(max(heights) - min(heights) - limits.within_nm, 0)
    steps, stairs = _between(task, row)
    total += sum(max(step - points * (limits.step_nm or 0), 0) for step in steps)
    for stair in stairs.values() if limits.staircase else ():
        total += min(sum(max(rise, 0) for rise in stair), sum(max(-rise, 0) for rise in stair))
    return Fraction(total, points)


def _key(task: LayoutTask, sets: tuple[LinerSet, ...], row: tuple[Way, ...], ring: int) -> Key | None:
    limits, points = task.limits, task.points
    steps, stairs = _between(task, row)
    if any(step > points * (limits.step_nm or 0) for step in steps):
        return None
    if limits.staircase and any(min(stair) < 0 < max(stair) for stair in stairs.values()):
        return None
    return (
        sum(shim > 0 for _, shim, _ in row),
        Fraction(max(steps, default=0), points),
        sum((abs(Fraction(sum(heights), points) - limits.target) for _, _, heights in row), Fraction(0)),
        sum(turn > 0 for turn, _, _ in row),
        tuple(one.serial for one in sets),
        tuple(turn * 360 // points for turn, _, _ in row),
        tuple(shim for _, shim, _ in row),
        ring,
    )


def key_of(layout: Any) -> Key:
    """The same of a layout that the program found."""
    return (
        layout.shims,
        layout.largest_step_nm,
        layout.off_target_nm,
        layout.turned,
        tuple(one.serial for one in layout.placed),
        tuple(one.turn_deg for one in layout.placed),
        tuple(one.shim_nm for one in layout.placed),
        layout.ring_nm,
    )


def random_task(seed: int) -> LayoutTask:
    """A small engine and shelf: any mixture of turns, shims, rings, heads, stairs, steps, weights, reused liners."""
    chance = random.Random(seed)
    bores, points = chance.randint(1, 4), chance.choice((3, 4, 4, 4, 6))
    heads = chance.choice(("aaaa", "aabb", "abcd", "aaab"))
    step = chance.choice((None, 0, 4, 10, 25))
    every_turn = [at * 360 // points for at in range(points)]
    shims = chance.choice(((), (), (20,), (10, 25)))
    limits = HeightLimits(
        low_nm=50 * UM,
        high_nm=(50 + chance.choice((30, 50, 70))) * UM,
        within_nm=chance.choice((8, 12, 30)) * UM,
        step_nm=None if step is None else step * UM,
        facing_deg=chance.choice((None, None, (every_turn[points // 2], 0))) if step is not None else None,
        staircase=step is not None and chance.random() < 0.4,
        turns_deg=chance.choice(((0,), (0, every_turn[1]), None if points < 6 else (0, 180))),
        shims_nm=um(shims),
        rings_nm=() if shims else um(chance.choice(((), (), (5, 30)))),
        target_nm=chance.choice((None, 70 * UM + 3)),
    )
    coarse = chance.choice((1, 1, 5))  # coarse readings: many layouts alike, so that the order of serials decides

    def read(middle: float, spread: float) -> tuple[int, ...]:
        at = chance.gauss(middle, spread)
        return um(tuple(coarse * round((at + chance.gauss(0, 3)) / coarse) for _ in range(points)))

    depth_spread, height_spread = chance.choice((2, 8, 25)), chance.choice((2, 8))
    sets = [
        LinerSet(f"S{at}", read(575 if not limits.rings_nm else 560, height_spread), chance.randint(400, 408) * 1000)
        for at in range(bores + chance.randint(0, 5 - bores))
    ]
    if chance.random() < 0.25:
        own = chance.choice(((every_turn[-1],), (0, every_turn[-1])))
        sets[0] = LinerSet("S0", sets[0].heights_nm, sets[0].piston_mg, chance.randint(1, bores), own)
    chance.shuffle(sets)
    return LayoutTask(
        tuple(Bore(at + 1, read(500, depth_spread), heads[at]) for at in range(bores)),
        tuple(sets),
        limits,
        chance.choice((0, 3, 10)) * UM,
        chance.choice((None, None, 2000, 4000)),
    )
