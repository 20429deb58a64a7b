"""The same layout by a general solver, CP-SAT of OR-tools, on one thread: what the topic `layout` is measured against.

The whole lexicographic order, in stages as our own search has it, each solved to proved optimality with those before it held fixed:
shims, largest step, distance from the target and turned sets, then serial numbers in packets of bores that one number can hold. A
choice for a bore is a yes-or-no variable; means and weights are linear in them. What remains after that (turns and shim sizes of
the same sets) follows the same way. Which choices a bore has by itself is our own list; trying all in the tests checks that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from kits.domain.layout_chain import Row, grain_of
from kits.domain.layout_options import LayoutTask, Option, Rules, every_rules, in_order, options_of
from kits.domain.layout_search import Key, key_of

#: A weighted sum must stay well within 64 bits.
LARGEST = 1 << 50


class NoSolver(Exception):
    """OR-tools is not installed."""


def solver() -> Any:
    """OR-tools' module of the solver."""
    try:
        from ortools.sat.python import cp_model
    except ImportError as error:
        text = "OR-tools is not installed: only tests need it, and `python3 manage.py test` installs what they need"
        raise NoSolver(text) from error
    return cp_model


def best_by_solver(task: LayoutTask, gauge_nm: int) -> tuple[Row, Rules] | None:
    """The best layout with that allowance, None where there is none."""
    cp = solver()
    found: list[tuple[Key, Row, Rules]] = []
    for rules in every_rules(replace(task, piston_spread_mg=None)):
        rows = options_of(task, gauge_nm, rules.ring_nm)
        row = _Staged(cp, task, rules, rows).run() if all(rows) else None
        if row is not None:
            found.append((key_of(row, rules), row, rules))
    return min(found, key=lambda one: one[0])[1:] if found else None


class _Staged:
    """One set of rules as one model, solved again and again with one more thing held fixed."""

    def __init__(self, cp: Any, task: LayoutTask, rules: Rules, rows: Sequence[Sequence[Option]]) -> None:
        self.cp, self.rules, self.rows = cp, rules, rows
        self.model = cp.CpModel()
        self.chosen = [[self.model.NewBoolVar("") for _ in row] for row in rows]
        self._sets()
        self._links(task)
        if task.piston_spread_mg is not None:
            self._weights([one.piston_mg or 0 for one in in_order(task)], task.piston_spread_mg)

    def _sets(self) -> None:
        """One option a bore, no set twice."""
        by_set: dict[int, list[Any]] = {}
        for row, variables in zip(self.rows, self.chosen, strict=True):
            self.model.AddExactlyOne(variables)
            for one, variable in zip(row, variables, strict=True):
                by_set.setdefault(one.chosen, []).append(variable)
        for variables in by_set.values():
            if len(variables) > 1:
                self.model.AddAtMostOne(variables)

    def _links(self, task: LayoutTask) -> None:
        """The step within its limit, as a variable; the stair."""
        plain = task.limits.facing_deg is None
        most = (task.limits.step_nm or 0) * (task.points if plain else 1)
        # in whole multiples of the readings' grain: smaller numbers are easier for it
        grain, base = grain_of(self.rows), self.rows[0][0].left
        self.step = self.model.NewIntVar(0, most // grain, "step")
        for at, link in enumerate(self.rules.links):
            if link is None:
                continue
            ahead = self._sum(at + 1, lambda one: (one.left - base) // grain)
            rise = ahead - self._sum(at, lambda one: (one.right - base) // grain)
            self.model.Add(rise <= self.step)
            self.model.Add(-rise <= self.step)
            if link:
                self.model.Add(
                    link * (self._sum(at + 1, lambda one: one.mean) - self._sum(at, lambda one: one.mean)) >= 0
                )

    def _weights(self, weights_mg: Sequence[int], spread_mg: int) -> None:
        """Every piston within the spread of a lightest weight."""
        lightest = self.model.NewIntVar(min(weights_mg), max(weights_mg), "lightest")
        for at in range(len(self.rows)):
            weight = self._sum(at, lambda one: weights_mg[one.chosen])
            self.model.Add(weight >= lightest)
            self.model.Add(weight <= lightest + spread_mg)

    def _sum(self, at: int, value: Any) -> Any:
        return sum(value(one) * variable for one, variable in zip(self.rows[at], self.chosen[at], strict=True))

    def _fix_least(self, what: Any, *, linear: bool = False) -> bool:
        """Find the least value of an expression and hold it."""
        self.model.Minimize(what)
        engine = self.cp.CpSolver()
        engine.parameters.num_workers = 1
        # of its settings for one thread those that took least time on these models: without linear relaxations, but for the
        # large numbers of the packets, where it may search for minutes without them
        engine.parameters.linearization_level = int(linear)
        status = engine.Solve(self.model)
        if status == self.cp.INFEASIBLE:
            return False
        if status != self.cp.OPTIMAL:
            raise AssertionError(f"the solver ended with {engine.StatusName(status)}")
        self.model.Add(what == round(engine.ObjectiveValue()))
        picked = [[engine.Value(variable) for variable in variables] for variables in self.chosen]
        self.answer = tuple(
            next(one for one, taken in zip(row, mine, strict=True) if taken)
            for row, mine in zip(self.rows, picked, strict=True)
        )
        self._hint(picked)
        return True

    def _hint(self, picked: Sequence[Sequence[int]]) -> None:
        """The next stage begins with this answer, which it may keep."""
        self.model.ClearHints()
        for variables, values in zip(self.chosen, picked, strict=True):
            for variable, value in zip(variables, values, strict=True):
                self.model.AddHint(variable, value)

    def run(self) -> Row | None:
        """Stage by stage."""
        bores = range(len(self.rows))
        if not self._fix_least(sum(self._sum(at, lambda one: int(one.shim_nm > 0)) for at in bores)):
            return None
        self._fix_least(self.step)
        self._fix_least(sum(self._sum(at, lambda one: one.cost) for at in bores))
        for value in (lambda one: one.chosen, lambda one: one.turn, lambda one: one.shim_nm):
            for packet in self._packets(value):
                self._fix_least(packet, linear=True)
        return self.answer

    def _packets(self, value: Any) -> list[Any]:
        """From bore 1 on, what orders the bores as digits of as few numbers as fit."""
        ranks = sorted({value(one) for row in self.rows for one in row})
        if len(ranks) == 1:
            return []
        rank, packets, weight = {one: at for at, one in enumerate(ranks)}, [], 1
        for at in range(len(self.rows) - 1, -1, -1):
            if weight == 1:
                packets.append(0)
            packets[-1] += weight * self._sum(at, partial(_ranked, rank, value))
            weight = weight * len(ranks)
            if weight * len(ranks) > LARGEST:
                weight = 1
        return packets[::-1]


def _ranked(rank: dict[int, int], value: Any, one: Option) -> int:
    return rank[value(one)]
