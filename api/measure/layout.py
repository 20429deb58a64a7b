"""The topic `layout`: our search beside CP-SAT of OR-tools, on the same made-up engines in the same process, one thread each.

Every answer is compared whole: sets, turns, shims, heights, whether it is certain, that it is proved. Which of the two goes first
changes from engine to engine. The first engine of each kind warms up both and is then measured like the others. Times are the
processor's, for all threads of the process: what else the machine does meanwhile is not counted.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

from api.measure.engines_to_lay_out import KINDS, Kind, instance
from api.measure.layout_by_solver import best_by_solver, solver
from api.measure.table import Limit, OtherAnswer, Sample
from kits.domain.layout import Layout, NoLayout, described, lay_out
from kits.domain.layout_options import LayoutTask

Say = Callable[[str], None]


def measure_layouts(instances: int, say: Say) -> list[Sample]:
    """A sample of each kind, so many engines in all. OtherAnswer where the two differ, NoSolver without OR-tools."""
    solver()
    gc.collect()
    gc.freeze()  # what is there already need not be looked through again before every engine
    try:
        return [_measured(kind, max(round(instances * kind.share), 1), say) for kind in KINDS]
    finally:
        gc.unfreeze()


def _measured(kind: Kind, instances: int, say: Say) -> Sample:
    sample = Sample(kind.name, Limit(Fraction(1), kind.milliseconds, both=True))
    first = instance(kind, 0)
    lay_out(first)
    by_solver(first)
    none = 0
    for number in range(instances):
        task = instance(kind, number)
        if number % 2:
            twin, twin_ns = _timed(by_solver, task)
            ours, ours_ns = _timed(lay_out, task)
        else:
            ours, ours_ns = _timed(lay_out, task)
            twin, twin_ns = _timed(by_solver, task)
        if plain(ours) != twin:
            raise OtherAnswer(f"{kind.name}, engine {number}: ours is {ours!r}, the solver's {twin!r}")
        none += twin is None
        sample.taken_ns.append(ours_ns)
        sample.twin_ns.append(twin_ns)
        sample.equal += 1
        if (number + 1) * 10 // instances > number * 10 // instances:
            say(f"{kind.name}: {number + 1} of {instances} engines, {none} without a layout")
    return sample


def _timed(act: Callable[[LayoutTask], Any], task: LayoutTask) -> tuple[Any, int]:
    gc.collect()
    began = time.process_time_ns()
    answer = act(task)
    return answer, time.process_time_ns() - began


def by_solver(task: LayoutTask) -> Layout | None:
    """The solver's layout: with the allowance, else with the plain limits, else none."""
    for gauge_nm in (task.gauge_nm, 0):
        found = best_by_solver(task, gauge_nm)
        if found is not None:
            return described(task, *found, proved=True, nodes=0)
    return None


def plain(found: Layout | NoLayout) -> Layout | None:
    """Our answer without what only our search has: how much was looked at, and the nearest miss."""
    if isinstance(found, Layout):
        return replace(found, nodes=0)
    if not found.proved:
        raise OtherAnswer("our search ended without a proof")
    return None
