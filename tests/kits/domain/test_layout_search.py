"""The search over different sets: stages, both ways to keep sets apart, and what happens when the nodes run out."""

from itertools import product

import pytest

from kits.domain import layout_search
from kits.domain.layout_chain import Chain, Graph, largest_step
from kits.domain.layout_options import Option, Rules, options_of
from kits.domain.layout_search import Budget, OutOfNodes, Search, cheapest, key_of, sets_twice
from tests.factories.bores import UM, every_layout, random_task, worked

NO_LINK = Rules(0, None, (None, None))
MANY = 10**9


def option(chosen, cost=0, mean=0, shim=0):
    return Option(mean, mean, mean, cost, chosen, 0, shim)


def test_sets_that_stand_twice():
    assert sets_twice((option(0), option(2), option(0), option(2), option(1), option(0))) == 0b101
    assert sets_twice((option(0), option(1))) == 0


def test_the_cheapest_row_of_different_sets():
    # set 0 is the cheapest everywhere and can stand only once
    rows = [[option(0, 0), option(1, cost)] for cost in (7, 5)]
    graph = Graph(Chain(rows, Rules(0, None, (None,)), True), 0, 0)
    cost, row = cheapest(graph, Budget(MANY))
    assert (cost, [one.chosen for one in row]) == (5, [0, 1])
    assert cheapest(graph, Budget(MANY), below=5) is None
    assert cheapest(graph, Budget(MANY), below=6)[0] == 5
    other = cheapest(graph, Budget(MANY), among=[{1}, {0, 1}])
    assert (other[0], [one.chosen for one in other[1]]) == (7, [1, 0])
    assert cheapest(graph, Budget(MANY), among=[{0}, {0}]) is None


def test_no_row_where_all_want_one_set():
    graph = Graph(Chain([[option(0)]] * 3, NO_LINK, True), 0, 0)
    assert cheapest(graph, Budget(MANY)) is None


@pytest.mark.parametrize("short", [layout_search.SHORT, 0])
def test_both_ways_to_keep_sets_apart_find_the_cheapest(monkeypatch, short):
    monkeypatch.setattr(layout_search, "SHORT", short)
    compared = 0
    for seed in range(80):
        task = random_task(seed)
        rules = Rules((task.limits.rings_nm or (0,))[0], None, (0,) * (len(task.bores) - 1))
        plain = task.limits.facing_deg is None
        chain = Chain(options_of(task, 0, rules.ring_nm), rules, plain)
        if chain.empty:
            continue
        step = 6 * UM * (task.points if plain else 1)
        for spare in (0, 1):
            graph = Graph(chain, step, spare)
            costs = [
                sum(one.cost for one in row)
                for row in product(*chain.options)
                if not sets_twice(row)
                and largest_step(row, chain.links) <= step
                and sum(one.shim_nm > 0 for one in row) <= chain.fewest + spare
            ]
            found = cheapest(graph, Budget(MANY))
            assert (found and found[0]) == min(costs, default=None)
            anything = cheapest(graph, Budget(MANY), any_will_do=True)
            assert (anything is None) == (not costs)
            compared += bool(costs)
    assert compared > 30


@pytest.mark.parametrize("short", [layout_search.SHORT, 0])
def test_the_best_of_a_stage_is_the_best_of_all(monkeypatch, short):
    monkeypatch.setattr(layout_search, "SHORT", short)
    for limits in ({"staircase": True}, {"facing_deg": (180, 0), "step_nm": 20 * UM}, {"step_nm": 7 * UM}):
        task = worked((1, 2, 3, 4, 5), **limits)
        key, row, rules = Search(task, 0, Budget(MANY)).best()
        least = min(every_layout(task, 0))
        unit = 1 if task.limits.facing_deg else 4
        assert (key[0], key[1], key[4]) == (least[0], unit * least[1], tuple(angle // 90 for angle in least[5]))
        assert tuple(f"S-044{at + 1}" for at in key[3]) == least[4]
        assert key == key_of(row, rules)


def test_the_budget_keeps_the_best_row_it_met():
    budget = Budget(2)
    budget.met((option(1),), Rules(0, None, ()))
    budget.met((option(0),), Rules(0, None, ()))
    budget.met((option(2),), Rules(0, None, ()))
    assert budget.best[1] == (option(0),)
    budget.spend(2)
    with pytest.raises(OutOfNodes):
        budget.spend(1)


def test_a_search_that_runs_out_says_so_and_leaves_what_it_met():
    task = worked((1, 2, 3, 4, 5))
    met = 0
    for nodes in range(0, 200, 4):
        budget = Budget(nodes)
        try:
            found = Search(task, 0, budget).best()
        except OutOfNodes:
            met += budget.best is not None
        else:
            assert found[0] == Search(task, 0, Budget(MANY)).best()[0]
    assert met > 0


def test_nothing_to_find():
    assert Search(worked(low_nm=119 * UM), 0, Budget(MANY)).best() is None
    assert Search(worked((1, 2, 3)), 0, Budget(MANY)).best() is None
