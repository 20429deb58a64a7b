"""What one bore asks by itself: options against trying all, weight windows, links, and tasks that make no sense."""

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.layout_options import (
    Bore,
    LayoutTask,
    LinerSet,
    Rules,
    cost_of,
    every_links,
    every_rules,
    facing,
    in_order,
    options_of,
    turned_heights,
    turns,
    windows,
)
from kits.domain.limits import Verdict
from kits.domain.protrusion import HeightLimits, verdict
from tests.factories.bores import UM, random_task, um, worked


def test_turning_a_liner_moves_its_heights_clockwise():
    # worked example: turned 180° the bore's point k reads the liner's k−2; a quarter moves 12 o'clock to 3 o'clock
    assert turned_heights((131, 141, 135, 125), 2) == (135, 125, 131, 141)
    assert turned_heights((131, 141, 135, 125), 1) == (125, 131, 141, 135)
    assert turned_heights((131, 141, 135, 125), 0) == turned_heights((131, 141, 135, 125), 4) == (131, 141, 135, 125)


def test_the_turns_and_facing_points_of_a_task():
    task = worked()
    assert (turns(task), facing(task)) == ((0, 2), None)
    assert turns(replace(task, limits=replace(task.limits, turns_deg=None))) == (0, 1, 2, 3)
    assert turns(replace(task, limits=replace(task.limits, turns_deg=(270, 0)))) == (0, 3)
    assert facing(replace(task, limits=replace(task.limits, facing_deg=(180, 0)))) == (2, 0)


def allowed(task, gauge_nm, ring_nm):
    """For each bore (set, mean, shim, left, right) and the least turn, by the verdict on every point."""
    sets, faces = in_order(task), facing(task)
    homes = {one.bore for one in sets}
    for bore in task.bores:
        found = {}
        for at, one in enumerate(sets):
            if one.bore != bore.number and (one.bore is not None or bore.number in homes):
                continue
            for turn in turns(task, one):
                for shim in (0, *task.limits.shims_nm):
                    heights = [
                        high - deep + shim + ring_nm
                        for high, deep in zip(turned_heights(one.heights_nm, turn), bore.depths_nm, strict=True)
                    ]
                    passes = all(verdict(height, task.limits, gauge_nm) is Verdict.PASS for height in heights)
                    if passes and max(heights) - min(heights) <= task.limits.within_nm:
                        mean = sum(heights)
                        ends = (mean, mean) if faces is None else (heights[faces.before], heights[faces.after])
                        found.setdefault((at, mean, shim, *ends), turn)
        yield found


@settings(max_examples=50)
@given(st.integers(0, 10**9).map(random_task), st.integers(-60, 60))
def test_options_are_what_the_verdict_passes(task, shift_nm):
    # a few nanometres aside, so that rounding to a grain counts
    limits = replace(task.limits, low_nm=task.limits.low_nm + abs(shift_nm))
    sets = tuple(replace(one, heights_nm=tuple(at + shift_nm for at in one.heights_nm)) for one in task.sets)
    task = replace(task, limits=limits, sets=sets)
    if limits.high_nm - limits.low_nm < 2 * task.gauge_nm:
        task = replace(task, gauge_nm=0)
    cost, ring = cost_of(task), (limits.rings_nm or (0,))[0]
    for row, expected in zip(options_of(task, task.gauge_nm, ring), allowed(task, task.gauge_nm, ring), strict=True):
        assert row == sorted(row)
        assert {(one.chosen, one.mean, one.shim_nm, one.left, one.right): one.turn for one in row} == expected
        assert all(one.cost == cost(one.mean, one.turn > 0) for one in row)


def test_the_cost_orders_distance_before_turns():
    task = worked()
    cost = cost_of(task)
    ideal = 4 * 85 * UM
    assert (cost(ideal, False), cost(ideal, True)) == (0, 1)
    assert 4 * cost(ideal, True) < cost(ideal + 1, False) == cost(ideal - 1, False)
    odd = replace(task, limits=replace(task.limits, high_nm=120 * UM + 1))
    assert odd.limits.target == Fraction(170 * UM + 1, 2)
    assert cost_of(odd)(4 * 85 * UM + 2, False) == 0


def test_windows_hold_every_choice_of_sets_within_the_spread():
    weights = (411, 412, 414, 415, 415, 416, 418, 418, 419, 420, 421, 423)
    bores = tuple(Bore(at, (0,)) for at in range(1, 5))
    sets = tuple(LinerSet(f"S{at:02d}", (0,), weight * 1000) for at, weight in enumerate(weights))
    task = LayoutTask(bores, sets, HeightLimits(0, 1, 0), 0, piston_spread_mg=4000)
    found = windows(task)
    for those in combinations(range(12), 4):
        fits = weights[those[3]] - weights[those[0]] <= 4
        assert any(set(those) <= window for window in found) == fits
    assert not any(one < two for one in found for two in found)
    assert windows(replace(task, piston_spread_mg=None)) == [None]
    assert windows(replace(task, piston_spread_mg=0)) == []


def test_stairs_go_either_way_in_each_head():
    task = worked(staircase=True)
    heads = tuple(replace(one, head=head) for one, head in zip(task.bores, "aabb", strict=True))
    assert every_links(task) == [(1, 1, 1), (-1, -1, -1)]
    two = replace(task, bores=heads)
    assert every_links(two) == [(1, None, 1), (1, None, -1), (-1, None, 1), (-1, None, -1)]
    assert every_links(replace(two, limits=replace(two.limits, staircase=False))) == [(0, None, 0)]
    free = replace(two, limits=replace(two.limits, staircase=False, step_nm=None))
    assert every_links(free) == [(None, None, None)]
    rings = replace(free, limits=replace(free.limits, rings_nm=(9, 5)))
    assert every_rules(rings) == [Rules(ring, None, (None, None, None)) for ring in (5, 9)]


def changed(**change):
    return lambda: replace(worked(), **change)


@pytest.mark.parametrize(
    "nonsense, code",
    [
        (changed(bores=()), "layout-unusable"),
        (changed(bores=tuple(Bore(at, (0,)) for at in range(25))), "layout-unusable"),
        (changed(bores=(Bore(1, ()),), sets=()), "layout-unusable"),
        (changed(bores=(Bore(1, um((1, 2, 3, 4))), Bore(2, um((1, 2, 3))))), "layout-unusable"),
        (changed(bores=(Bore(1, um((1, 2, 3, 4))), Bore(1, um((1, 2, 3, 4))))), "layout-unusable"),
        (changed(sets=(LinerSet("A", um((1, 2, 3))),)), "layout-unusable"),
        (changed(sets=(LinerSet("A", um((1, 2, 3, 4))),) * 2), "layout-unusable"),
        (changed(sets=(LinerSet("A", um((1, 2, 3, 4)), bore=5),)), "layout-unusable"),
        (changed(sets=tuple(LinerSet(name, um((1, 2, 3, 4)), bore=1) for name in "AB")), "layout-unusable"),
        (changed(sets=(LinerSet("A", um((1, 2, 3, 4))),), piston_spread_mg=4), "layout-unusable"),
        (changed(bores=tuple(replace(one, head=head) for one, head in zip(worked().bores, "abab", strict=True))),
         "layout-unusable"),
        (changed(sets=(LinerSet("A", (1, 2, 3, float("nan"))),)), "heights-unusable"),
        (changed(sets=(LinerSet("A", (1, 2, 3, True)),)), "heights-unusable"),
        (changed(bores=(Bore(1, (1, 2, 3, 4.0)),)), "heights-unusable"),
        (changed(sets=(LinerSet("A", um((1, 2, 3, 4)), 0),)), "heights-unusable"),
        (changed(sets=(LinerSet("A", um((1, 2, 3, 4)), 1),), piston_spread_mg=-1), "heights-unusable"),
        (changed(sets=(LinerSet("A", um((1, 2, 3, 4)), bore=1, turns_deg=(45,)),)), "heights-unusable"),
        (changed(gauge_nm=-1), "heights-unusable"),
        (changed(limits=replace(worked().limits, turns_deg=(0, 60))), "heights-unusable"),
    ],
)  # fmt: skip
def test_a_task_that_makes_no_sense(nonsense, code):
    with pytest.raises(DomainError) as raised:
        nonsense()
    assert raised.value.code == code


def test_facing_points_between_two_readings_are_refused_with_the_task():
    limits = replace(worked().limits, facing_deg=(135, 0))
    with pytest.raises(DomainError) as raised:
        replace(worked(), limits=limits)
    assert raised.value.code == "heights-unusable"


def test_negative_readings_are_readings():
    task = replace(worked(), bores=(Bore(1, um((-10, -10, -10, -10))),), sets=(LinerSet("A", um((75,) * 4)),))
    assert [one.mean for one in options_of(task, 0, 0)[0]] == [4 * 85 * UM]
