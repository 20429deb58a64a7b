"""`measure layout` at its smallest: a table, equal answers, an exit code for each way to end."""

from dataclasses import replace
from fractions import Fraction
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from api.measure import layout
from api.measure.engines_to_lay_out import Kind, instance
from api.measure.layout_by_solver import NoSolver
from kits.domain.layout import lay_out

SMALL = Kind("3 bores from 5 sets, shims", 3, 5, 5000, Fraction(1))


def run(*words):
    """The exit code, and what was printed."""
    out = StringIO()
    try:
        call_command("measure", "layout", *words, stdout=out)
    except CommandError as error:
        return error.returncode, f"{out.getvalue()}{error}"
    return 0, out.getvalue()


@pytest.fixture(autouse=True)
def small_engines(monkeypatch):
    monkeypatch.setattr(layout, "KINDS", (SMALL,))


def test_every_answer_is_compared_and_every_limit_said():
    code, said = run("--instances", "4")
    lines = said.splitlines()
    at = lines.index("layout, 4 engines")
    assert lines[at + 1].split() == (
        ["act", "median", "p95", "instances", "CP-SAT's", "median", "ratio", "limit", "equal", "answers"]
    )
    assert lines[at + 2].startswith("3 bores from 5 sets, shims  ")
    assert "  1 × and 5000 ms         4 of 4  ok" in lines[at + 2]
    assert (code, lines[-1]) == (0, "every limit is kept")


def test_what_is_short_of_its_limit_ends_with_1(monkeypatch):
    monkeypatch.setattr(layout, "KINDS", (replace(SMALL, milliseconds=0),))
    code, said = run("--instances", "1")
    assert (code, said.endswith("short: 3 bores from 5 sets, shims")) == (1, True)
    assert "1 of 1  short" in said


def test_another_answer_ends_with_2(monkeypatch):
    monkeypatch.setattr(layout, "by_solver", lambda task: None)
    code, said = run("--instances", "1")
    assert code == 2
    assert "3 bores from 5 sets, shims, engine 0: ours is Layout(" in said
    unproved = replace(lay_out(instance(SMALL, 0)), proved=False)
    monkeypatch.setattr(layout, "lay_out", lambda task: unproved)
    assert run("--instances", "1")[0] == 2


def test_without_the_solver_a_sentence_and_2(monkeypatch):
    def missing():
        raise NoSolver("OR-tools is not installed")

    monkeypatch.setattr(layout, "solver", missing)
    assert run() == (2, "OR-tools is not installed")
    assert run("--instances", "0")[0] == 1


def test_the_engines_are_always_the_same_and_of_every_sort():
    assert instance(SMALL, 5) == instance(SMALL, 5) != instance(SMALL, 4)
    tasks = [instance(SMALL, number) for number in range(8)]
    sorts = {(task.limits.staircase, task.piston_spread_mg) for task in tasks}
    assert sorts == {(stairs, spread) for stairs in (False, True) for spread in (None, 4000)}
    # an odd engine has a counterbore that was cut deeper than any new one
    deepest = [max(max(bore.depths_nm) for bore in task.bores) for task in tasks]
    assert all(deep > 8_990_000 for deep in deepest[1::2])
    assert all(deep < 8_990_000 for deep in deepest[::2])
