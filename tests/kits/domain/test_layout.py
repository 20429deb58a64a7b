"""The layout of an engine: the worked example of the demo shop, every edge, and twins by brute force.

The readings and answers of the worked example were found by an independent script; the counts of layouts are counted here by
trying all.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.layout import Layout, NoLayout, lay_out
from kits.domain.layout_options import Bore, LayoutTask, LinerSet
from kits.domain.protrusion import POOR_GAUGE, HeightLimits
from tests.factories.bores import (
    PISTONS_G,
    UM,
    choices,
    every_layout,
    key_of,
    random_task,
    um,
    worked,
)

FIVE = (1, 2, 3, 4, 5)


def serials(layout):
    """The last digits, bore by bore."""
    return tuple(int(one.serial[-1]) for one in layout.placed)


def means(layout):
    return [one.mean_nm / UM for one in layout.placed]


def told(layout):
    """Sets, means, largest step, distance from the target in micrometres; sets turned."""
    return serials(layout), means(layout), layout.largest_step_nm / UM, layout.off_target_nm / UM, layout.turned


def orders(task, gauge_um):
    """Every order of sets that works, and how many layouts there are."""
    every = list(every_layout(task, gauge_um * UM))
    return {tuple(int(serial[-1]) for serial in key[4]) for key in every}, len(every), min(every, default=None)


def test_as_delivered_is_not_allowed():
    task = worked()
    delivered = replace(
        task, sets=tuple(replace(one, bore=at) for at, one in enumerate(task.sets, start=1)), gauge_nm=10 * UM
    )
    found = lay_out(delivered)
    assert isinstance(found, NoLayout) and found.proved
    assert [one.mean_nm / UM for one in found.miss.placed] == [71, 100, 57, 72]
    assert [(one.rule, one.bores, one.by_nm / UM) for one in found.miss.breaks] == [("step", (2, 3), 3)]
    assert found.miss.breaks[0].text == "bores 2 and 3: a step of 43 µm, at most 40 µm"


def test_exactly_one_order_is_a_staircase():
    task = worked(staircase=True)
    assert orders(task, 0)[:2] == ({(3, 4, 2, 1)}, 8)
    found = lay_out(task)
    assert told(found) == ((3, 4, 2, 1), [58, 78, 78, 86], 20, 42, 0)
    assert (found.certain, found.proved, found.doubtful, found.why) == (True, True, (), ())
    assert [step / UM for step in found.steps_nm] == [20, 0, 8]
    assert key_of(found) == orders(task, 0)[2]
    # set 1 in bore 4 may not be turned: its points would read 86, 70, 86, 102
    turned = replace(task, sets=(replace(task.sets[0], bore=4, turns_deg=(180,)), *task.sets[1:]))
    assert isinstance(lay_out(turned), NoLayout)
    bore = replace(task, bores=task.bores[3:], sets=(replace(task.sets[0], bore=4, turns_deg=(180,)),))
    crooked = lay_out(bore).miss
    assert [height / UM for height in crooked.placed[0].heights_nm] == [86, 70, 86, 102]
    assert [(one.rule, one.by_nm / UM) for one in crooked.breaks] == [("within one liner", 2)]


def test_without_a_staircase_eighteen_orders_work():
    task = worked()
    every, count, best = orders(task, 0)
    assert (len(every), count) == (18, 200)
    found = lay_out(task)
    assert told(found) == ((1, 4, 2, 3), [71, 78, 78, 73], 7, 40, 0)
    assert key_of(found) == best


def test_the_gauge_takes_the_staircase_away():
    task = worked(gauge_um=10, staircase=True)
    assert orders(task, 10)[1] == 0
    found = lay_out(task)
    assert (serials(found), found.certain, found.proved) == ((3, 4, 2, 1), False, True)
    assert found.doubtful == ((1, 1), (1, 2))
    assert [found.placed[0].heights_nm[point] / UM for point in (1, 2)] == [51, 55]
    assert found.why == ("Doubtful at bore 1, 3 and 6 o'clock: measure again, or try another set from stock.",)
    plain = worked(gauge_um=10)
    every, count, best = orders(plain, 10)
    assert (len(every), count) == (4, 24)
    assert (serials(lay_out(plain)), lay_out(plain).certain, key_of(lay_out(plain))) == ((1, 4, 2, 3), True, best)


def test_a_fifth_set_from_stock_brings_a_certain_staircase():
    task = worked(FIVE, gauge_um=10, spread_g=4, staircase=True)
    assert orders(task, 10)[:2] == ({(1, 4, 2, 5)}, 8)
    found = lay_out(task)
    assert told(found) == ((1, 4, 2, 5), [71, 78, 78, Fraction(313, 4)], 7, Fraction(139, 4), 0)
    assert found.certain and found.proved and key_of(found) == orders(task, 10)[2]
    pistons = [PISTONS_G[number] for number in serials(found)]
    assert max(pistons) - min(pistons) == 4
    # set 1 in bore 1 may not be turned: 58 at 3 o'clock is below 60
    turned = replace(task.sets[0], bore=1, turns_deg=(180,))
    assert not lay_out(replace(task, sets=(turned, *task.sets[1:]))).certain
    # a gram less between the pistons, and the stair is only doubtful again
    narrow = lay_out(replace(task, piston_spread_mg=3999))
    assert (serials(narrow), narrow.certain) == ((3, 4, 2, 1), False)
    assert key_of(narrow) == min(every_layout(replace(task, piston_spread_mg=3999), 0))


def flange(*counterbores_um, **limits):
    """Bores under a top flange of 9.030, 0.050 to 0.120, shims of 0.05 to 0.25, allowance 0.010."""
    asked = {"low_nm": 50 * UM, "high_nm": 120 * UM, "within_nm": 30 * UM, "shims_nm": um((50, 100, 150, 200, 250))}
    return LayoutTask(
        tuple(Bore(at, (depth * UM,) * 4) for at, depth in enumerate(counterbores_um, start=1)),
        tuple(LinerSet(f"S{at}", (9030 * UM,) * 4) for at in range(len(counterbores_um))),
        HeightLimits(**asked | limits),
        10 * UM,
    )


def test_shims_and_recuts():
    # worked example: flange 9.030 on a counterbore of 9.015
    found = lay_out(flange(9015))
    assert (found.placed[0].shim_nm, found.placed[0].heights_nm[0], found.certain) == (50 * UM, 65 * UM, True)
    doubtful = lay_out(flange(9015, shims_nm=um((100,))))
    assert (doubtful.placed[0].heights_nm[0], doubtful.certain) == (115 * UM, False)
    assert doubtful.why[0].startswith("Doubtful at bore 1, 12, 3, 6 and 9 o'clock")
    assert isinstance(lay_out(flange(9015, shims_nm=um((150,)))), NoLayout)
    # recut by 0.05, 0.06, 0.07 for a shim of 0.15
    recut = [lay_out(flange(9015 + cut, shims_nm=um((150,)))) for cut in (50, 60, 70)]
    assert [(one.placed[0].heights_nm[0] / UM, one.certain) for one in recut] == [(115, False), (105, True), (95, True)]
    # fewest shims before the least step: only the low bore gets one
    two = lay_out(flange(9015, 8950, step_nm=40 * UM))
    assert ([one.shim_nm / UM for one in two.placed], two.shims, two.largest_step_nm / UM) == ([50, 0], 1, 15)
    # the step asks for a shim that the height alone does not
    near = lay_out(flange(8970, 8920, step_nm=10 * UM))
    assert ([one.shim_nm / UM for one in near.placed], near.largest_step_nm) == ([50, 0], 0)


def test_a_height_on_a_limit_is_certain_and_a_grain_beyond_is_not():
    for edge_nm, way in ((60 * UM, -1), (110 * UM, 1)):
        on = flange(9030, shims_nm=(edge_nm,))
        beyond = flange(9030, shims_nm=(edge_nm + 100 * way,))
        assert (lay_out(on).certain, lay_out(beyond).certain) == (True, False)
    for edge_nm, way in ((50 * UM, -1), (120 * UM, 1)):
        assert isinstance(lay_out(flange(9030, shims_nm=(edge_nm,))), Layout)
        assert isinstance(lay_out(flange(9030, shims_nm=(edge_nm + 100 * way,))), NoLayout)


def test_steps_and_spreads_are_exact_to_the_nanometre():
    pair = flange(8950, 8940, shims_nm=(), step_nm=10 * UM)
    assert lay_out(pair).largest_step_nm == 10 * UM
    assert lay_out(replace(pair, limits=replace(pair.limits, step_nm=10 * UM - 1))).miss.total_nm == 1
    crooked = replace(pair, sets=tuple(replace(one, heights_nm=(9030 * UM + 30 * UM, *one.heights_nm[1:]))
                                       for one in pair.sets))  # fmt: skip
    assert isinstance(lay_out(crooked), Layout)
    assert lay_out(replace(crooked, limits=replace(crooked.limits, within_nm=30 * UM - 1))).miss.total_nm == 2


def even(*heights_um, head="", step_um=40, gauge_um=0, sets=None, **limits):
    """Bores that stand at those heights when the sets stay as they are, each set at home; four points alike."""
    asked = {"low_nm": 50 * UM, "high_nm": 120 * UM, "within_nm": 30 * UM,
             "step_nm": None if step_um is None else step_um * UM} | limits  # fmt: skip
    heads = head or "a" * len(heights_um)
    return LayoutTask(
        tuple(Bore(at, (0,) * 4, heads[at - 1]) for at in range(1, len(heights_um) + 1)),
        tuple(LinerSet(f"S{at}", (height * UM,) * 4, bore=at) for at, height in enumerate(heights_um, start=1)),
        HeightLimits(**asked),
        gauge_um * UM,
    )


def test_no_step_is_taken_from_one_bank_to_the_other():
    heights = (60, 70, 80, 90, 112, 100, 90, 80)
    found = lay_out(even(*heights, head="aaaabbbb", step_um=12))
    assert found.steps_nm[3] is None
    assert found.largest_step_nm == 12 * UM
    assert isinstance(lay_out(even(*heights, head="a" * 8, step_um=12)), NoLayout)
    # a stair may rise in one bank and fall in the other, never within one
    assert isinstance(lay_out(even(*heights, head="aaaabbbb", step_um=12, staircase=True)), Layout)
    assert isinstance(lay_out(even(*heights, head="aaaaabbb", step_um=40, staircase=True)), Layout)
    broken = lay_out(even(*heights, head="aaaaaabb", step_um=40, staircase=True)).miss
    assert [(one.rule, one.bores, one.by_nm / UM) for one in broken.breaks] == [("staircase", (5, 6), 12)]


def test_individual_heads_have_no_step():
    for task in (even(50, 120, 50, head="abc", step_um=0, staircase=True), even(50, 120, 50, step_um=None)):
        found = lay_out(task)
        assert (found.steps_nm, found.largest_step_nm) == ((None, None), 0)


def test_banks_share_the_shelf_and_the_weights():
    # one set cannot stand in both banks, though it would be best in each
    bores = tuple(Bore(at, (0,) * 4, head) for at, head in ((1, "left"), (2, "right")))
    sets = tuple(LinerSet(f"S{height}", (height * UM,) * 4, height * 1000) for height in (85, 80, 60))
    task = LayoutTask(bores, sets, HeightLimits(50 * UM, 120 * UM, 0), 0, piston_spread_mg=25_000)
    assert [one.serial for one in lay_out(task).placed] == ["S80", "S85"]
    # weights are those of the whole engine
    heavy = replace(task, sets=(sets[0], sets[2]), piston_spread_mg=25_000)
    assert [one.serial for one in lay_out(heavy).placed] == ["S60", "S85"]
    assert [one.rule for one in lay_out(replace(heavy, piston_spread_mg=24_999)).miss.breaks] == ["piston weight"]


def test_a_reused_liner_goes_back_to_its_own_bore_and_turn():
    task = worked(FIVE, gauge_um=10)
    fixed = replace(task.sets[2], bore=2, turns_deg=(180,))
    found = lay_out(replace(task, sets=(*task.sets[:2], fixed, *task.sets[3:])))
    assert (found.placed[1].serial, found.placed[1].turn_deg) == ("S-0443", 180)
    assert key_of(found) == min(every_layout(replace(task, sets=(*task.sets[:2], fixed, *task.sets[3:])), 10 * UM))
    # a turn that new liners may not have is allowed to it
    quarter = replace(fixed, turns_deg=(90,))
    assert lay_out(replace(task, sets=(*task.sets[:2], quarter, *task.sets[3:]))).placed[1].turn_deg == 90
    # where the family lets it be turned, its bore is fixed and its turn is not: the best one that it may have
    free = replace(fixed, turns_deg=(0, 180))
    found = lay_out(replace(task, sets=(*task.sets[:2], free, *task.sets[3:])))
    assert key_of(found) == min(every_layout(replace(task, sets=(*task.sets[:2], free, *task.sets[3:])), 10 * UM))
    assert found.placed[1].serial == "S-0443"
    # its bore is nobody else's, even where it does not fit there
    low = replace(fixed, heights_nm=um((0, 0, 0, 0)))
    missed = lay_out(replace(task, sets=(*task.sets[:2], low, *task.sets[3:]))).miss
    assert missed.placed[1].serial == "S-0443"


def test_one_of_four_is_replaced_within_the_weights_and_the_heights():
    # the rest weighs 415, 416, 418 and stays; of the spares 414 and 419 fit by weight, only one of them by height
    rest = even(80, 80, 80, 80).sets
    at_home = tuple(replace(one, piston_mg=weight * 1000) for one, weight in zip(rest, (415, 416, 418), strict=False))
    spares = tuple(
        LinerSet(f"N{weight}", (height * UM,) * 4, weight * 1000)
        for weight, height in ((411, 80), (414, 130), (419, 85), (420, 80))
    )
    task = replace(even(80, 80, 80, 80), sets=(*at_home, *spares), piston_spread_mg=4000)
    assert lay_out(task).placed[3].serial == "N419"
    assert lay_out(replace(task, piston_spread_mg=None)).placed[3].serial == "N411"


def test_three_readings_are_doubtful_at_best():
    task = LayoutTask(
        (Bore(1, (0, 0, 0)),), (LinerSet("S1", um((80, 85, 90))),),
        HeightLimits(50 * UM, 120 * UM, 30 * UM, turns_deg=(0, 120, 240)), 10 * UM,
    )  # fmt: skip
    found = lay_out(task)
    assert (found.certain, found.doubtful) == (False, ())
    assert found.why == ("Read at 3 points only: at least 4 are needed.",)
    warm = lay_out(replace(worked(gauge_um=10), temperature_missing=True))
    assert (serials(warm), warm.certain) == ((1, 4, 2, 3), False)
    assert warm.why == ("A temperature is missing: a warm alloy block gives a false height.",)


def test_a_gauge_that_is_not_good_enough_says_so():
    found = lay_out(worked(gauge_um=36))
    assert (serials(found), found.certain, found.why) == ((1, 4, 2, 3), False, (POOR_GAUGE,))
    assert lay_out(flange(8945)).certain  # exactly in the middle
    assert lay_out(replace(flange(8945), gauge_nm=35 * UM)).certain
    assert not lay_out(replace(flange(8945), gauge_nm=35 * UM + 1)).certain


def test_ties_go_by_serial_number_whatever_order_they_come_in():
    bores = tuple(Bore(at, (0,) * 4) for at in (1, 2))
    sets = tuple(LinerSet(serial, (80 * UM,) * 4) for serial in ("S9", "S2", "S10", "S3"))
    task = LayoutTask(bores, sets, HeightLimits(50 * UM, 120 * UM, 0, 40 * UM, turns_deg=None), 0)
    for order in (sets, sets[::-1], sets[2:] + sets[:2]):
        found = lay_out(replace(task, sets=order))
        assert [(one.serial, one.turn_deg) for one in found.placed] == [("S10", 0), ("S2", 0)]


def test_base_rings_are_all_of_one_kind():
    # the demo shop's table of families: 0.020 to 0.120, ring 0.90 or 1.00, ledge 61.840 or recut 61.940
    limits = HeightLimits(20 * UM, 120 * UM, 0, 60 * UM, rings_nm=um((900, 1000)))
    sets = tuple(LinerSet(f"S{at}", um((61_000,) * 4)) for at in (1, 2))
    found = [
        lay_out(LayoutTask((Bore(1, um((one,) * 4)), Bore(2, um((two,) * 4))), sets, limits, 0))
        for one, two in ((61_840, 61_840), (61_940, 61_940), (61_840, 61_940))
    ]
    assert [one.ring_nm / UM for one in found[:2]] == [900, 1000]
    assert [means(one) for one in found[:2]] == [[60, 60], [60, 60]]
    assert isinstance(found[2], NoLayout)
    assert found[2].miss.help[0] == (
        "No one kind of base ring suits all bores (bore 1: 900 µm, bore 2: 1000 µm): cut every ledge alike."
    )


def test_facing_points_may_differ_from_means():
    # bore 1's liner is high towards bore 2 (6 o'clock), bore 2's is low towards bore 1 (12 o'clock)
    bores = tuple(Bore(at, (0,) * 4) for at in (1, 2))
    sets = (LinerSet("S1", um((70, 80, 90, 80))), LinerSet("S2", um((70, 80, 90, 80))))
    limits = HeightLimits(50 * UM, 120 * UM, 30 * UM, 20 * UM, turns_deg=(0, 180))
    assert lay_out(LayoutTask(bores, sets, limits, 0)).largest_step_nm == 0
    faced = lay_out(LayoutTask(bores, sets, replace(limits, facing_deg=(180, 0)), 0))
    assert ([one.turn_deg for one in faced.placed], faced.largest_step_nm / UM) == ([0, 180], 0)
    stay = LayoutTask(bores, sets, replace(limits, facing_deg=(180, 0), turns_deg=(0,)), 0)
    assert lay_out(stay).largest_step_nm / UM == 20
    assert isinstance(lay_out(replace(stay, limits=replace(stay.limits, step_nm=20 * UM - 1))), NoLayout)


def test_a_search_without_nodes_proves_nothing():
    task = worked(gauge_um=10, staircase=True)
    found = lay_out(task, nodes=0)
    assert (found.proved, getattr(found, "miss", None)) == (False, None)
    some = [lay_out(worked(FIVE), nodes=nodes) for nodes in range(0, 300, 5)]
    assert [one.proved for one in some] == sorted(one.proved for one in some)
    assert not some[0].proved and some[-1].proved
    for one in some:
        if isinstance(one, Layout):
            assert one.certain and one.nodes <= 300
            assert key_of(one) >= key_of(some[-1])


def best_by_trying(task):
    """With the allowance, else with the plain limits."""
    enough = task.limits.high_nm - task.limits.low_nm >= 2 * task.gauge_nm
    found = min(every_layout(task, task.gauge_nm), default=None) if enough else None
    return found if found is not None else min(every_layout(task, 0), default=None)


def check_best(task):
    """The layout is the best of all that there are, and says so."""
    found, best = lay_out(task), best_by_trying(task)
    assert found.proved
    assert (key_of(found) if isinstance(found, Layout) else None) == best
    return best is not None


def test_it_is_the_best_of_all_on_random_engines():
    tasks = [task for seed in range(160) if choices(task := random_task(seed)) < 3000]
    found = [check_best(task) for task in tasks]
    assert (len(tasks) > 100, sum(found) > 40, len(found) - sum(found) > 40) == (True, True, True)


@settings(max_examples=40)
@given(st.integers(1000, 10**9).map(random_task).filter(lambda task: choices(task) < 1500))
def test_it_is_the_best_of_all(task):
    check_best(task)
    assert lay_out(replace(task, sets=task.sets[::-1])) == lay_out(task)


def test_it_is_the_best_of_all_on_every_tiny_engine():
    """Two bores of two points, two or three sets, heights of 0 to 2 of 5 µm: all of them, under every kind of rule."""
    limits = HeightLimits(50 * UM, 60 * UM, 5 * UM, 5 * UM, turns_deg=(0, 180))
    kinds = (
        limits,
        replace(limits, staircase=True, turns_deg=(0,)),
        replace(limits, step_nm=0, shims_nm=(5 * UM,), turns_deg=(0,)),
        replace(limits, facing_deg=(180, 0)),
    )
    shapes = list(product((0, 1, 2), repeat=2))
    bores = (Bore(1, (0, 0)), Bore(2, um((0, 5))))
    found = 0
    for one, two in product(shapes, repeat=2):
        sets = tuple(
            LinerSet(f"S{at}", tuple(50 * UM + 5 * UM * steps for steps in shape))
            for at, shape in enumerate((one, two, (1, 1))[: 2 + sum(one) % 2])
        )
        found += sum(check_best(LayoutTask(bores, sets, kind, 0)) for kind in kinds)
    assert 100 < found < 4 * 81


def wishes(layout):
    """What is compared before serial numbers."""
    return key_of(layout)[:4] if isinstance(layout, Layout) else None


@settings(max_examples=40)
@given(st.integers(0, 10**9).map(random_task), st.integers(2, 9), st.integers(1, 40))
def test_no_unit_no_end_of_the_engine_and_no_zero_point_decides(task, unit, shift):
    found = lay_out(task)
    limits = task.limits
    moved = replace(
        task,
        bores=tuple(replace(one, depths_nm=tuple(at + shift for at in one.depths_nm)) for one in task.bores),
        sets=tuple(replace(one, heights_nm=tuple(at + shift for at in one.heights_nm)) for one in task.sets),
    )
    assert lay_out(moved) == found
    if limits.facing_deg is None:
        backwards = replace(task, bores=task.bores[::-1])
        assert wishes(lay_out(backwards)) == wishes(found)
    scaled = replace(
        task,
        bores=tuple(replace(one, depths_nm=tuple(at * unit for at in one.depths_nm)) for one in task.bores),
        sets=tuple(replace(one, heights_nm=tuple(at * unit for at in one.heights_nm)) for one in task.sets),
        gauge_nm=task.gauge_nm * unit,
        limits=replace(
            limits,
            low_nm=limits.low_nm * unit, high_nm=limits.high_nm * unit, within_nm=limits.within_nm * unit,
            step_nm=None if limits.step_nm is None else limits.step_nm * unit,
            shims_nm=tuple(at * unit for at in limits.shims_nm), rings_nm=tuple(at * unit for at in limits.rings_nm),
            target_nm=None if limits.target_nm is None else limits.target_nm * unit,
        ),
    )  # fmt: skip
    other = lay_out(scaled)
    if isinstance(found, Layout):
        assert [(one.serial, one.turn_deg) for one in other.placed] == [
            (one.serial, one.turn_deg) for one in found.placed
        ]
        assert (other.certain, other.largest_step_nm) == (found.certain, found.largest_step_nm * unit)
    else:
        assert other.miss.total_nm == found.miss.total_nm * unit


@settings(max_examples=40)
@given(st.integers(0, 10**9).map(random_task), st.integers(0, 10**9))
def test_more_choice_is_never_worse(task, seed):
    certain = replace(task, gauge_nm=0)
    found = lay_out(certain)
    one = random_task(seed).sets[0].heights_nm
    if len(one) == task.points:
        more = lay_out(replace(certain, sets=(*certain.sets, LinerSet("T", one, 404_000))))
        assert better_or_alike(more, found)
    limits = replace(task.limits, target_nm=85 * UM)
    fixed = lay_out(replace(certain, limits=limits))
    wider = replace(limits, low_nm=limits.low_nm - UM, high_nm=limits.high_nm + UM, within_nm=limits.within_nm + UM)
    assert better_or_alike(lay_out(replace(certain, limits=wider)), fixed)
    if limits.step_nm is not None:
        assert better_or_alike(lay_out(replace(certain, limits=replace(limits, step_nm=limits.step_nm + UM))), fixed)
    assert better_or_alike(lay_out(replace(certain, limits=replace(limits, staircase=False))), fixed)


def better_or_alike(other, found):
    """No layout is worse than any, the nearest miss only gets nearer."""
    if isinstance(found, NoLayout):
        return isinstance(other, Layout) or other.miss.total_nm <= found.miss.total_nm or not found.miss.placed
    return isinstance(other, Layout) and wishes(other) <= wishes(found)


def test_a_layout_keeps_what_it_says():
    for seed in range(200, 260):
        task, found = random_task(seed), lay_out(random_task(seed))
        if not isinstance(found, Layout):
            continue
        sets = {one.serial: one for one in task.sets}
        assert len({one.serial for one in found.placed}) == len(task.bores)
        for placed, bore in zip(found.placed, task.bores, strict=True):
            turned = placed.turn_deg * task.points // 360
            heights = sets[placed.serial].heights_nm
            expected = [
                heights[at - turned] - bore.depths_nm[at] + placed.shim_nm + found.ring_nm for at in range(task.points)
            ]
            assert list(placed.heights_nm) == expected
        if task.limits.facing_deg is None:
            rises = [two.mean_nm - one.mean_nm for one, two in pairwise(found.placed)]
            assert all(step in (None, rise) for step, rise in zip(found.steps_nm, rises, strict=True))
        assert found.certain == (not found.why)


def test_an_allowance_below_nothing_is_refused():
    with pytest.raises(DomainError) as raised:
        lay_out(replace(worked(), gauge_nm=-1))
    assert raised.value.code == "heights-unusable"
