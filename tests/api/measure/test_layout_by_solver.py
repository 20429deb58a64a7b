"""Our layout and CP-SAT's are the same, on seeded engines of every kind of rule."""

import sys
from dataclasses import replace
from fractions import Fraction

import pytest

from api.measure.engines_to_lay_out import Kind, instance
from api.measure.layout import by_solver, plain
from api.measure.layout_by_solver import NoSolver, solver
from kits.domain.layout import Layout, lay_out
from tests.factories.bores import UM, random_task, worked

SMALL = Kind("4 bores from 8 sets, shims", 4, 8, 50, Fraction(1))


def engine(number):
    """As they are measured, with shims, weights, stairs; every fifth at facing points."""
    task = instance(SMALL, number)
    return replace(task, limits=replace(task.limits, facing_deg=(180, 0) if number % 5 == 4 else None))


@pytest.mark.parametrize("make, numbers", [(engine, range(15)), (random_task, range(40, 55))])
def test_our_layout_is_the_solver_s(make, numbers):
    found = 0
    for number in numbers:
        task = make(number)
        ours = plain(lay_out(task))
        assert ours == by_solver(task)
        found += isinstance(ours, Layout)
    assert found >= 5


def test_the_worked_example():
    task = worked((1, 2, 3, 4, 5), gauge_um=10, spread_g=4, staircase=True)
    assert [one.serial for one in by_solver(task).placed] == ["S-0441", "S-0444", "S-0442", "S-0445"]
    assert by_solver(replace(task, limits=replace(task.limits, high_nm=51 * UM))) is None


def test_without_the_solver_it_says_what_is_missing(monkeypatch):
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    with pytest.raises(NoSolver, match="OR-tools is not installed"):
        solver()
