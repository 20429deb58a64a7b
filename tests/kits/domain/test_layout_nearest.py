"""The nearest miss: bounds and sliding minima against the plain way, the search against trying all."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kits.domain.layout import NoLayout, lay_out
from kits.domain.layout_nearest import NOTHING, Nearest, every_option, least_ways, own_miss, sliding_least
from kits.domain.layout_options import every_rules
from kits.domain.layout_search import Budget, OutOfNodes
from kits.domain.protrusion import HeightLimits
from tests.factories.bores import UM, choices, least_miss, random_task, um, worked

LIMITS = HeightLimits(50 * UM, 120 * UM, 30 * UM, 40 * UM)


@pytest.mark.parametrize(
    "heights_um, miss_um",
    [
        ((50, 80, 80, 70), 0),
        ((49, 70, 70, 70), 1),
        ((120, 121, 122, 100), 1 + 2),
        ((50, 80, 81, 80), 1),  # the points differ by 31
        ((40, 130, 80, 80), 10 + 10 + 60),
    ],
)
def test_what_one_liner_misses_by_itself(heights_um, miss_um):
    assert own_miss(um(heights_um), LIMITS) == miss_um * UM


def test_a_limit_in_inches_is_missed_by_nothing():
    inches = HeightLimits(33_020, 175_260, 50_800)  # .0013, .0069, .002 inch
    assert own_miss((33_020, 33_020), inches) == 0
    assert own_miss((33_020 - 100, 33_020), inches) == 100


@given(
    st.lists(st.integers(-9, 9), min_size=1, max_size=8),
    st.lists(st.tuples(st.integers(-9, 9), st.integers(0, 9)), min_size=1, max_size=8),
    st.sampled_from((None, 0, 1, -1)),
    st.integers(0, 6),
    st.integers(1, 4),
)
def test_the_least_way_on_is_the_least_of_all(rights, behind, link, most, times):
    rights, behind = sorted(rights), sorted(behind)
    expected = [
        min(
            rest + (0 if link is None else max(abs(left - right) - most, 0) * times + max((right - left) * link, 0))
            for left, rest in behind
        )
        for right in rights
    ]
    assert least_ways(rights, behind, link, most, times) == expected


@given(
    st.lists(st.integers(0, 20), max_size=12), st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), max_size=8)
)
def test_sliding_minima(values, spans):
    starts = sorted(min(start, len(values)) for start, _ in spans)
    ends = sorted(min(end, len(values)) for _, end in spans)
    found = sliding_least(values, list(zip(starts, ends, strict=True)))
    assert found == [min(values[start:end], default=NOTHING) for start, end in zip(starts, ends, strict=True)]


def test_every_option_is_there_whatever_the_limits_say():
    task = worked(low_nm=119 * UM)
    options = every_option(task, task.bores[0], 0)
    assert {one.chosen for one in options} == {0, 1, 2, 3}
    # of the two turns the one that misses less stands for both
    by_set = {one.chosen: one.cost for one in options}
    assert by_set[0] == 4 * min(
        own_miss([high - deep for high, deep in zip(heights, task.bores[0].depths_nm, strict=True)], task.limits)
        for heights in (um((131, 141, 135, 125)), um((135, 125, 131, 141)))
    )


def check_nearest(task):
    found = lay_out(task)
    if isinstance(found, NoLayout) and found.miss.placed:
        assert found.miss.proved
        assert found.miss.total_nm == least_miss(task)
        return True
    return False


def test_no_row_comes_nearer_on_random_engines():
    tasks = [task for seed in range(300, 500) if choices(task := random_task(seed)) < 600]
    assert sum(map(check_nearest, tasks)) > 40


def test_the_greedy_row_is_a_row_of_different_sets_and_no_nearer_than_the_nearest():
    for seed in range(60):
        task = random_task(seed)
        for rules in every_rules(task)[:1]:
            search = Nearest(task, rules, Budget(10**9))
            greedy = search.greedy()
            if greedy is not None:
                assert len({one.chosen for one in greedy[1]}) == len(task.bores)
                assert search.run(None)[0] <= greedy[0]
    assert Nearest(worked((1, 2, 3)), every_rules(worked())[0], Budget(9)).greedy() is None


def test_a_search_for_the_nearest_may_run_out():
    task = worked(low_nm=100 * UM, high_nm=105 * UM, within_nm=0)
    with pytest.raises(OutOfNodes):
        Nearest(task, every_rules(task)[0], Budget(0)).run(None)
