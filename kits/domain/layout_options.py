"""Which set may stand in which bore, turned how and on which shim: what is allowed for each bore by itself. Pure.

A layout is a row of options, one for each bore. What one bore asks by itself (the limits at every point, the spread of one
liner, a reused liner's own bore and turn) is settled here once; what neighbours, different sets and weights ask of each other
is left to `layout_search`.

Means are compared as sums over the points. An option's `left` is what the neighbour before it is compared with and `right` what
the neighbour after it is compared with: the sum of its heights where the step is a difference of means, else the height at the
point that faces that neighbour.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product
from operator import sub
from typing import NamedTuple

from inventory.domain.errors import DomainError
from kits.domain.protrusion import HeightLimits, accepted, clock_steps, whole

#: More bores than any engine of this trade has.
BORES_MOST = 24


@dataclass(frozen=True, slots=True)
class Bore:
    """A bore and its depth in the block, read at points evenly round it, clockwise from 12 o'clock. Neighbours in the order
    of bores stand next to each other if they are under one head. no_shim: none goes under its liner, whatever is allowed elsewhere."""

    number: int
    depths_nm: tuple[int, ...]
    head: str = ""
    no_shim: bool = False

    def shims(self, limits: HeightLimits) -> tuple[int, ...]:
        """Shims that may lie under its liner, none first, thinnest first."""
        return (0,) if self.no_shim else (0, *sorted(limits.shims_nm))


@dataclass(frozen=True, slots=True)
class LinerSet:
    """A set from the shelf and its liner's height, read at as many points as the bores, in the same order.

    piston_mg  weight of its piston with pin; None: not weighed
    bore       a reused liner goes back to this bore, turned by one of `turns_deg`; None: it may stand anywhere, turned as all are
    """

    serial: str
    heights_nm: tuple[int, ...]
    piston_mg: int | None = None
    bore: int | None = None
    turns_deg: tuple[int, ...] = (0,)


@dataclass(frozen=True, slots=True)
class LayoutTask:
    """Everything a layout is worked out from.

    gauge_nm             the allowance of `protrusion.allowance_nm`
    piston_spread_mg     heaviest less lightest piston of the engine, at most; None: not asked for
    temperature_missing  see `protrusion.judge`
    """

    bores: tuple[Bore, ...]
    sets: tuple[LinerSet, ...]
    limits: HeightLimits
    gauge_nm: int
    piston_spread_mg: int | None = None
    temperature_missing: bool = False

    def __post_init__(self) -> None:
        """DomainError "layout-unusable" or "heights-unusable" for what makes no sense."""
        whole("gauge_nm", self.gauge_nm, 0)
        if not 1 <= len(self.bores) <= BORES_MOST:
            raise DomainError(
                "layout-unusable", f"{len(self.bores)} bores: from 1 to {BORES_MOST}.", bores=len(self.bores)
            )
        points = self.points
        for what, names, rows in (
            ("bore", [bore.number for bore in self.bores], [bore.depths_nm for bore in self.bores]),
            ("set", [one.serial for one in self.sets], [one.heights_nm for one in self.sets]),
        ):
            for name, readings in zip(names, rows, strict=True):
                if len(readings) != points or not points:
                    text = f"{what} {name} is read at {len(readings)} points, bore {self.bores[0].number} at {points}."
                    raise DomainError("layout-unusable", text, name=str(name))
                for reading in readings:
                    whole(f"{what} {name}", reading)
            if len(set(names)) != len(names):
                raise DomainError(
                    "layout-unusable", f"One {what} stands in the list twice.", names=[str(n) for n in names]
                )
        self._check_heads()
        self._check_sets()

    def _check_heads(self) -> None:
        """The bores of one head stand together."""
        order = [bore.head for bore in self.bores]
        changes = sum(before != after for before, after in pairwise(order))
        if changes + 1 != len(set(order)):
            raise DomainError("layout-unusable", "The bores of one head do not stand together.", heads=order)

    def _check_sets(self) -> None:
        numbers = {bore.number for bore in self.bores}
        taken: set[int] = set()
        for one in self.sets:
            if one.bore is not None and (one.bore not in numbers or one.bore in taken):
                text = f"Set {one.serial} belongs in bore {one.bore}, which is taken or not there."
                raise DomainError("layout-unusable", text, serial=one.serial, bore=one.bore)
            if one.bore is not None:
                taken.add(one.bore)
                turns(self, one)
            if one.piston_mg is not None:
                whole(f"piston_mg of set {one.serial}", one.piston_mg, 1)
            elif self.piston_spread_mg is not None:
                text = f"The piston of set {one.serial} was not weighed, and the engine has a limit."
                raise DomainError("layout-unusable", text, serial=one.serial)
        if self.piston_spread_mg is not None:
            whole("piston_spread_mg", self.piston_spread_mg, 0)
        turns(self)
        facing(self)

    @property
    def points(self) -> int:
        """How many points each liner was read at."""
        return len(self.bores[0].depths_nm)


class Option(NamedTuple):
    """One way to fill a bore, and what it costs.

    left, right, mean  what is compared with the neighbours, and the sum of the heights; nanometres
    cost               distance from the target, then whether it is turned: see `cost_of`
    chosen             index of the set, in the order of serial numbers
    turn               clock steps
    shim_nm            0: none
    """

    left: int
    right: int
    mean: int
    cost: int
    chosen: int
    turn: int
    shim_nm: int


class Facing(NamedTuple):
    """The clock points that look at the next bore and back at the one before."""

    after: int
    before: int


def turns(task: LayoutTask, one: LinerSet | None = None) -> tuple[int, ...]:
    """The turns allowed, in clock steps, fewest first: of a reused liner its own, of any other those of the family."""
    allowed = task.limits.turns_deg if one is None or one.bore is None else one.turns_deg
    if allowed is None:
        return tuple(range(task.points))
    return tuple(sorted(clock_steps(angle, task.points) for angle in allowed))


def facing(task: LayoutTask) -> Facing | None:
    """None where the step is a difference of means."""
    angles = task.limits.facing_deg
    return None if angles is None else Facing(*(clock_steps(angle, task.points) for angle in angles))


def in_order(task: LayoutTask) -> list[LinerSet]:
    """The sets by serial number, as text: two benches with the same readings get the same answer."""
    return sorted(task.sets, key=lambda one: one.serial)


def turned_heights(heights_nm: Sequence[int], steps: int) -> tuple[int, ...]:
    """What stands at each clock point of the bore after the liner was turned clockwise by so many points."""
    points = len(heights_nm)
    return tuple(heights_nm[(point - steps) % points] for point in range(points))


def cost_of(task: LayoutTask) -> Callable[[int, bool], int]:
    """From the sum of a liner's heights, and whether it is turned: distance of the mean from the target first, turned second, as
    one number that adds up over the bores."""
    target = task.limits.target
    unit, aim, weight = target.denominator, task.points * target.numerator, len(task.bores) + 1
    return lambda total_nm, turned: abs(total_nm * unit - aim) * weight + turned


def options_of(task: LayoutTask, gauge_nm: int, ring_nm: int) -> list[list[Option]]:
    """For each bore, every allowed option with that allowance and base ring, by `left`.

    Options that differ only in their turn are one: the least turned stands for them.
    """
    window = accepted(task.limits.low_nm + gauge_nm, task.limits.high_nm - gauge_nm)
    every = [_ways(task, at, one) for at, one in enumerate(in_order(task))]
    homes = {one.bore: way for one, way in zip(in_order(task), every, strict=True) if one.bore is not None}
    free = [way for one, way in zip(in_order(task), every, strict=True) if one.bore is None]
    found = []
    for bore in task.bores:
        ways = [homes[bore.number]] if bore.number in homes else free
        depths = tuple(depth - ring_nm for depth in bore.depths_nm)
        found.append(sorted(_allowed(task, replace(bore, depths_nm=depths), ways, window)))
    return found


#: A set's index, the sum of its heights, and its heights in every turn that it may have, least turned first.
Ways = tuple[int, int, list[tuple[int, tuple[int, ...]]]]


def _ways(task: LayoutTask, at: int, one: LinerSet) -> Ways:
    return at, sum(one.heights_nm), [(steps, turned_heights(one.heights_nm, steps)) for steps in turns(task, one)]


def _allowed(task: LayoutTask, bore: Bore, sets: Sequence[Ways], window: tuple[int, int]) -> list[Option]:
    """What is allowed in one bore, a base ring in it already."""
    (first, last), faces, points, within = window, facing(task), task.points, task.limits.within_nm
    depths, shims, cost = bore.depths_nm, bore.shims(task.limits), cost_of(task)
    total_depth = sum(depths)
    found: dict[tuple[int, int, int, int], Option] = {}
    for at, total_height, ways in sets:
        total = total_height - total_depth
        # where every point lies within the limits, so does the mean
        left = [shim for shim in shims if points * first <= total + points * shim <= points * last]
        for steps, heights in ways if left else ():
            over = list(map(sub, heights, depths))
            low, high = min(over), max(over)
            if high - low > within:
                continue
            for shim in [shim for shim in left if low + shim >= first and high + shim <= last]:
                mean = total + points * shim
                if faces is None:
                    found[mean, mean, mean, at] = Option(mean, mean, mean, cost(mean, steps > 0), at, steps, shim)
                    left.remove(shim)  # neighbours see no turn: the least one will do
                else:
                    key = (over[faces.before] + shim, over[faces.after] + shim, mean, at)
                    if key not in found:
                        found[key] = Option(*key[:3], cost(mean, steps > 0), at, steps, shim)
            if not left:
                break
    return list(found.values())


class Rules(NamedTuple):
    """One way to look at the engine: a base ring, the sets of one weight window, and for each head the way its stairs go.

    links  between each bore and the next: None for none, 0 a step either way, 1 never down, -1 never up
    """

    ring_nm: int
    sets: frozenset[int] | None
    links: tuple[int | None, ...]


def every_rules(task: LayoutTask) -> list[Rules]:
    """Every way to look at the engine; a layout is allowed if it is allowed in one of them."""
    rings = tuple(sorted(task.limits.rings_nm)) or (0,)
    return [Rules(*one) for one in product(rings, windows(task), every_links(task))]


def every_links(task: LayoutTask) -> list[tuple[int | None, ...]]:
    """The links of the engine, once for each choice of up or down in its heads."""
    pairs = list(pairwise(task.bores))
    if task.limits.step_nm is None:
        return [(None,) * len(pairs)]
    heads = list(dict.fromkeys(a.head for a, b in pairs if a.head == b.head))
    found = []
    for ways in product((1, -1) if task.limits.staircase else (0,), repeat=len(heads)):
        way = dict(zip(heads, ways, strict=True))
        found.append(tuple(way[a.head] if a.head == b.head else None for a, b in pairs))
    return found


def windows(task: LayoutTask) -> list[frozenset[int] | None]:
    """Sets whose pistons lie within the spread of a lightest one, without those that lie wholly within another window."""
    spread = task.piston_spread_mg
    if spread is None:
        return [None]
    weighed = sorted((one.piston_mg or 0, at) for at, one in enumerate(in_order(task)))
    found: list[frozenset[int] | None] = []
    last_end = 0
    for start, (least, _) in enumerate(weighed):
        end = next((at for at in range(start, len(weighed)) if weighed[at][0] > least + spread), len(weighed))
        if end > last_end and end - start >= len(task.bores):
            found.append(frozenset(at for _, at in weighed[start:end]))
        last_end = max(last_end, end)
    return found
